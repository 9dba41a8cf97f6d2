#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# Measures start-up, a verification of 60 parameters, and its memory, each beside its plain alternative in the same run.
#
# bench/run.py BUILD-FOLDER (a build without sanitizers). Figures are printed, not demanded; only what could not be measured fails.
import os
import platform
import re
import statistics
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "whole"))

LIBRARIES = ("libmodbus", "yaml-0.1", "jansson", "libmd")
STARTS = 200
VERIFICATIONS = 60
UNIT = 4

# Six groups of ten, with registers between them that nobody asks for.
ADDRESSES = [0x100 + 26 * group + step for group in range(6) for step in range(10)]


def compile_helpers(folder):
    def flags(*options):
        return subprocess.run(["pkg-config", *options], check=True, capture_output=True, text=True).stdout.split()

    # --no-as-needed, since an empty program needs none of them and the linker would drop them.
    linked = ["-Wl,--no-as-needed", *flags("--libs", *LIBRARIES), "-lm"]
    programs = {"measure": [], "empty": linked, "plain_client": flags("--cflags", "--libs", "libmodbus")}
    for name, options in programs.items():
        source, target = os.path.join(HERE, f"{name}.c"), os.path.join(folder, name)
        subprocess.run([os.environ.get("CC", "cc"), "-O2", "-o", target, source, *options], check=True)


def needed(path):
    """The libraries that the loader must bring."""
    output = subprocess.run(["readelf", "-d", path], check=True, capture_output=True, text=True).stdout
    return set(re.findall(r"\(NEEDED\).*\[(.*)\]", output))


def measure(folder, times, first, second, expected=(0, 0)):
    """Runs both in turn; {name: (median ms, largest KiB)}. A status other than the expected one means nothing was measured."""
    command = [os.path.join(folder, "measure"), str(times), *first, "--", *second]
    output = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    runs = {"first": [], "second": []}
    for line in output.splitlines():
        name, nanoseconds, kibibytes, status = line.split()
        if int(status) != expected[name == "second"]:
            raise RuntimeError(f"status {status} of {' '.join(first if name == 'first' else second)}")
        runs[name].append((int(nanoseconds) / 1e6, int(kibibytes)))
    return [(statistics.median(ms for ms, _ in run), max(kib for _, kib in run)) for run in runs.values()]


def write_drive(folder):
    """A map of 60 parameters and a sheet that asks for a value of each; returns both paths."""
    lines = ["map: sixty", "about: Invented for the measurement.", "modbus: {count_from: 0}", "parameters:"]
    settings = []
    for index, address in enumerate(ADDRESSES):
        lines.append(f"  value_{index}: {{at: holding {address:#06x}, type: u16, scale: 0.1, unit: Hz, settable: always}}")
        settings.append(f"  value_{index}: {index + 1}.5 Hz")
    sheet = ["tag: SIXTY", "drive: {map: map.yaml}", f"line: {{host: 127.0.0.1, unit: {UNIT}}}", "settings:", *settings]
    paths = []
    for name, text in (("map.yaml", lines), ("sheet.yaml", sheet)):
        paths.append(os.path.join(folder, name))
        with open(paths[-1], "w", encoding="utf-8") as stream:
            stream.write("\n".join(text) + "\n")
    return paths


def row(what, figure, goal="", met=None):
    word = {None: "", True: "met", False: "NOT MET"}[met]
    print(f"{what:<62} {figure:>10} {goal:>8} {word}".rstrip())


def measure_start(folder, asleft):
    difference = needed(asleft) ^ needed(os.path.join(folder, "empty"))
    if difference:
        raise RuntimeError(f"the empty program is not linked alike: {difference}")
    (ours, _), (empty, _) = measure(folder, STARTS, [asleft, "--version"], [os.path.join(folder, "empty")])
    row(f"start of asleft --version ({STARTS} alternating runs)", f"{ours:.2f} ms")
    row("start of an empty program linked alike", f"{empty:.2f} ms")
    row("ratio of the medians", f"{ours / empty:.2f}", "<= 2", ours / empty <= 2)


def measure_verify(folder, asleft, program):
    map_path, sheet = write_drive(folder)
    with program.Simulator(map_path, sheet=sheet) as simulator:
        verify = [asleft, "verify", sheet, "--port", simulator.port, "--format", "json"]
        plain = [os.path.join(folder, "plain_client"), simulator.port, str(UNIT), *map(str, ADDRESSES)]
        (ours, memory), (other, other_memory) = measure(folder, VERIFICATIONS, verify, plain)
    row(f"verify of 60 parameters over TCP ({VERIFICATIONS} alternating runs)", f"{ours:.2f} ms", "< 20 ms", ours < 20)
    row("libmodbus, the same registers one by one", f"{other:.2f} ms")
    row("peak memory of that verify", f"{memory / 1024:.1f} MB", "< 10 MB", memory / 1024 < 10)
    row("peak memory of the libmodbus client", f"{other_memory / 1024:.1f} MB")


def main():
    if len(sys.argv) != 2:
        sys.exit("use: bench/run.py BUILD-FOLDER")
    build = os.path.abspath(sys.argv[1])
    os.environ["ASLEFT"], os.environ["ASLEFT_SIM"] = os.path.join(build, "asleft"), os.path.join(build, "asleft-sim")
    import program  # it takes the programs from the environment

    print(f"measured on {platform.machine()}, {os.cpu_count()} cores, kernel {platform.release()}")
    with tempfile.TemporaryDirectory(prefix="asleft-bench-") as folder:
        compile_helpers(folder)
        measure_start(folder, program.ASLEFT)
        measure_verify(folder, program.ASLEFT, program)


if __name__ == "__main__":
    main()
