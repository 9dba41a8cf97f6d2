# SPDX-License-Identifier: MIT
# Figures of a chart of three times 100,000 samples: time and bytes of its page, and of drawing every sample.
import csv
import os
import subprocess

import bench

SOURCES = [f"src/{name}.c" for name in (
    "report/chart", "report/chart_look", "report/chart_scale", "report/chart_svg", "report/chart_thin", "report/escape",
    "motor/number", "motor/quantity", "types/error", "types/memory", "types/nearest")]


def figures(folder):
    includes = f"-I{os.path.join(bench.SOURCE_DIR, 'src')}"
    helper = bench.compile_helper(folder, "chart_costs", "-D_GNU_SOURCE", includes, "-lm", sources=SOURCES)
    output = subprocess.run([helper], check=True, capture_output=True, text=True).stdout
    (ours_ms, ours_bytes), (every_ms, every_bytes) = [map(float, row) for row in csv.reader(output.splitlines())]
    bench.row("chart of three sets of 100,000 samples", f"{ours_ms:.0f} ms", "< 1 s", ours_ms < 1000)
    bench.row("  its bytes", f"{ours_bytes / 1e3:.0f} kB", "< 1 MB", ours_bytes < 1e6)
    bench.row("  every sample drawn", f"{every_ms:.0f} ms")
    bench.row("  its bytes", f"{every_bytes / 1e3:.0f} kB")
