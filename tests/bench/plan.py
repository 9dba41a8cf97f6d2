# SPDX-License-Identifier: MIT
# Figures of the read plan: its cost, and that of greedy bridging, as multiples of the cheapest plan found by trying all.
import csv
import os
import subprocess

import bench

SOURCES = ("src/bus/plan.c", "src/types/memory.c")


def figures(folder):
    includes = [f"-I{os.path.join(bench.SOURCE_DIR, part)}" for part in ("src", "tests")]
    helper = bench.compile_helper(folder, "plan_costs", "-D_GNU_SOURCE", *includes, sources=SOURCES)
    rows = list(csv.reader(subprocess.run([helper], check=True, capture_output=True, text=True).stdout.splitlines()))
    (_, _, worst, _), (_, _, worst_own, dearer_own), *limits = rows
    bench.row("read plan of 1,000 random maps, worst against brute force", f"{float(worst):.4f}", "<= 1.00", float(worst) <= 1)
    bench.row(f"  greedy bridging of gaps cheaper than a request, {dearer_own} maps dearer, worst", f"{float(worst_own):.2f}")
    bench.series("  greedy bridging of gaps up to a limit, mean and worst against brute force",
                 {limit: f"{float(mean):.2f} {float(worst):.2f}" for limit, mean, worst, _ in limits})
