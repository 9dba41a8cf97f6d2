# SPDX-License-Identifier: MIT
# Figures of the document of a drive whose witnessed run has 100,000 moments of five values: time and bytes of the page, beside
# drawing every sample.
import os
import subprocess
import time

import bench
import program

MOMENTS = 100000


def figures(folder):
    build = os.path.dirname(program.ASLEFT)
    rooms = [os.path.join(build, f"libroom_{room}.a") for room in ("store", "types")]
    helper = bench.compile_helper(folder, "accept_run", "-D_GNU_SOURCE", f"-I{os.path.join(bench.SOURCE_DIR, 'src')}", *rooms,
                                  "-lm", *bench.package_flags("--cflags", "--libs", "sqlite3"))
    store, page = os.path.join(folder, "accepted.sqlite"), os.path.join(folder, "accepted.html")
    sheet = program.fixture("R-1.yaml")
    every_ms, every_bytes = map(float, subprocess.run([helper, store, "R-1"], check=True, capture_output=True,
                                                      text=True).stdout.split(","))
    with program.Simulator(program.fixture("witnessed.yaml"), sheet=sheet) as simulator:
        began = time.monotonic()
        result = program.asleft("accept", sheet, "--port", simulator.port, "--store", store, "--output", page)
        took_ms = (time.monotonic() - began) * 1000
    text = program.text_of(page) if os.path.exists(page) else ""
    if result.status not in (program.DIFFERS, program.INCOMPLETE) or text.count('role="img"') != 4:
        raise RuntimeError(f"no document with four charts\n{result}")
    size = os.path.getsize(page)
    bench.row(f"accept, with a run of {MOMENTS:,} moments of five values", f"{took_ms:.0f} ms", "< 1 s", took_ms < 1000)
    bench.row("  bytes of the document", f"{size / 1e3:.0f} kB", "< 1 MB", size < 1e6)
    bench.row("  every sample drawn, alone", f"{every_ms:.0f} ms")
    bench.row("  its bytes", f"{every_bytes / 1e3:.0f} kB")
