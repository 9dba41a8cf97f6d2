#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# Measures what docs/figures.md tells of, each figure beside its plain alternative in the same run, as one table.
#
# bench/run.py BUILD-FOLDER (a build without sanitizers). Figures are printed, not demanded; only what could not be measured fails.
import os
import platform
import sys
import tempfile

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "whole"))


def main():
    if len(sys.argv) != 2:
        sys.exit("use: bench/run.py BUILD-FOLDER")
    build = os.path.abspath(sys.argv[1])
    os.environ["ASLEFT"], os.environ["ASLEFT_SIM"] = os.path.join(build, "asleft"), os.path.join(build, "asleft-sim")
    # They take the programs from the environment.
    import accept
    import bench
    import chart
    import faulted
    import plan
    import start
    import wire
    import witness

    print(f"measured on {platform.machine()}, {os.cpu_count()} cores, kernel {platform.release()}")
    with tempfile.TemporaryDirectory(prefix="asleft-bench-") as folder:
        plain_client = bench.compile_helper(folder, "plain_client", *bench.package_flags("--cflags", "--libs", "libmodbus"))
        start.figures(folder, plain_client)
        plan.figures(folder)
        wire.figures(folder, plain_client)
        witness.figures(folder)
        chart.figures(folder)
        accept.figures(folder)
        faulted.figures(folder, plain_client)


if __name__ == "__main__":
    main()
