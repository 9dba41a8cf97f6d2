# SPDX-License-Identifier: MIT
# Figures of the program itself: its start beside an empty one, a verification over TCP beside libmodbus, and memory.
import os
import re
import statistics
import subprocess

import bench
import program

LIBRARIES = ("libmodbus", "yaml-0.1", "jansson", "libmd", "sqlite3")
STARTS = 200
VERIFICATIONS = 60

# Six groups of ten, with registers between them that nobody asks for.
ADDRESSES = [0x100 + 26 * group + step for group in range(6) for step in range(10)]


def needed(path):
    """The libraries that the loader must bring."""
    output = subprocess.run(["readelf", "-d", path], check=True, capture_output=True, text=True).stdout
    return set(re.findall(r"\(NEEDED\).*\[(.*)\]", output))


def measure(measurer, times, first, second):
    """Runs both in turn; (median ms, largest KiB) of each. A status but 0 means that nothing was measured."""
    command = [measurer, str(times), *first, "--", *second]
    output = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    runs = {"first": [], "second": []}
    for line in output.splitlines():
        name, nanoseconds, kibibytes, status = line.split()
        if status != "0":
            raise RuntimeError(f"status {status} of {' '.join(first if name == 'first' else second)}")
        runs[name].append((int(nanoseconds) / 1e6, int(kibibytes)))
    return [(statistics.median(ms for ms, _ in run), max(kib for _, kib in run)) for run in runs.values()]


def figures_of_start(measurer, folder):
    # --no-as-needed, since an empty program needs none of them and the linker would drop them.
    empty_program = bench.compile_helper(folder, "empty", "-Wl,--no-as-needed", *bench.package_flags("--libs", *LIBRARIES), "-lm")
    difference = needed(program.ASLEFT) ^ needed(empty_program)
    if difference:
        raise RuntimeError(f"the empty program is not linked alike: {difference}")
    (ours, _), (empty, _) = measure(measurer, STARTS, [program.ASLEFT, "--version"], [empty_program])
    bench.row(f"start of asleft --version ({STARTS} alternating runs)", f"{ours:.2f} ms")
    bench.row("start of an empty program linked alike", f"{empty:.2f} ms")
    bench.row("ratio of the medians", f"{ours / empty:.2f}", "<= 2", ours / empty <= 2)


def figures_of_verify(measurer, folder, plain_client):
    map_path, sheet = bench.write_drive(folder, ADDRESSES, "host: 127.0.0.1")
    with program.Simulator(map_path, sheet=sheet) as simulator:
        verify = [program.ASLEFT, "verify", sheet, "--port", simulator.port, "--format", "json"]
        plain = [plain_client, f"tcp:{simulator.port}", str(bench.UNIT), *map(str, ADDRESSES)]
        (ours, memory), (other, other_memory) = measure(measurer, VERIFICATIONS, verify, plain)
    bench.row(f"verify of 60 parameters over TCP ({VERIFICATIONS} alternating runs)", f"{ours:.2f} ms", "< 20 ms", ours < 20)
    bench.row("libmodbus, the same registers one by one", f"{other:.2f} ms")
    bench.row("peak memory of that verify", f"{memory / 1024:.1f} MB", "< 10 MB", memory / 1024 < 10)
    bench.row("peak memory of the libmodbus client", f"{other_memory / 1024:.1f} MB")


def figures(folder, plain_client):
    measurer = bench.compile_helper(folder, "measure")
    figures_of_start(measurer, folder)
    figures_of_verify(measurer, folder, plain_client)
