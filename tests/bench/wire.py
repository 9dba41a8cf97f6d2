# SPDX-License-Identifier: MIT
# Figures of wire time: a read of 60 scattered parameters at a line's speed, against what the line itself took, against one
# register a request, and against every other way of bridging.
import csv
import os
import statistics
import subprocess
import time

import bench
import program

BAUDS = {9600: 1.05, 19200: 1.05, 115200: 1.12}  # and what elapsed may be of the line's own time
RUNS = 7
ONE_BY_ONE_RUNS = 3
TURNAROUND_MS = 5
LONGEST = 125


class Line:
    """How long things take at a speed, in seconds: characters of 11 bits (8E1), MODBUS over Serial Line V1.02."""

    def __init__(self, baud):
        self.character = 11 / baud
        self.silence = 0.00175 if baud > 19200 else 3.5 * self.character

    def read(self, count):
        """Silence, request of 8 characters, silence, turnaround, reply."""
        return 2 * self.silence + TURNAROUND_MS / 1000 + (8 + 5 + 2 * count) * self.character

    def best(self, addresses):
        """The cheapest plan, every cut between addresses considered."""
        costs = [0.0]
        for end in range(1, len(addresses) + 1):
            lengths = ((start, addresses[end - 1] - addresses[start] + 1) for start in range(end))
            costs.append(min(costs[start] + self.read(length) for start, length in lengths if length <= LONGEST))
        return costs[-1]

    def greedy(self, addresses, gap_limit):
        total, first = 0.0, addresses[0]
        for address, after in zip(addresses, addresses[1:] + [None]):
            if after is None or after - address - 1 > gap_limit or after - first + 1 > LONGEST:
                total += self.read(address - first + 1)
                first = after
        return total


class Run:
    """One command, and later what the simulator logged of it; times in seconds."""

    def __init__(self, command):
        self.began = time.monotonic()
        result = subprocess.run(command, capture_output=True, text=True, timeout=program.PATIENCE_S)
        self.ended = time.monotonic()
        self.elapsed = self.ended - self.began
        if result.returncode != 0:
            raise RuntimeError(f"status {result.returncode} of {' '.join(command)}: {result.stderr}")

    def take_log(self, rows, line):
        rows = [row for row in rows if self.began <= int(row["read_us"]) / 1e6 <= self.ended]
        self.requests = len(rows)
        self.ideal = sum(line.read(int(row["count"])) for row in rows)
        self.real = sum((int(row["real_us"]) - int(row["read_us"])) / 1e6 + line.silence for row in rows)
        self.ratio = self.elapsed / self.real


def median(runs, name):
    return statistics.median(getattr(run, name) for run in runs)


def run_both(folder, plain_client, baud, line, addresses):
    """Our reads, and reads of one register a request by libmodbus."""
    port, log_path = os.path.join(folder, f"line-{baud}"), os.path.join(folder, f"log-{baud}")
    map_path, sheet = bench.write_drive(folder, addresses, f"serial: {port}, baud: {baud}, parity: even, alone: true")
    read = [program.ASLEFT, "read", sheet, *bench.names(addresses), "--format", "json"]
    one_by_one = [plain_client, f"{port}:{baud}:500", str(bench.UNIT), *map(str, addresses)]
    options = ("--pty", port, "--pace", str(baud), "--turnaround", str(TURNAROUND_MS), "--log", log_path)
    with program.Simulator(map_path, *options, sheet=sheet):
        ours = [Run(read) for _ in range(RUNS)]
        ones = [Run(one_by_one) for _ in range(ONE_BY_ONE_RUNS)]
    with open(log_path, encoding="ascii") as stream:
        rows = list(csv.DictReader(stream))
    for run in ours + ones:
        run.take_log(rows, line)
    return ours, ones


def figures_at(folder, plain_client, baud, goal):
    line, addresses = Line(baud), bench.scattered_addresses()
    ours, ones = run_both(folder, plain_client, baud, line, addresses)
    ratio, ideal, best = median(ours, "ratio"), median(ours, "ideal"), line.best(addresses)
    bench.row(f"read of 60 scattered parameters at {baud} baud, {median(ours, 'requests'):.0f} requests",
              f"{median(ours, 'elapsed') * 1000:.1f} ms")
    bench.row(f"  of the line's own time, {median(ours, 'real') * 1000:.1f} ms (ideal {ideal * 1000:.1f} ms)", f"{ratio:.3f}",
              f"<= {goal}", ratio <= goal)
    bench.row("  ideal wire time of these requests against the cheapest plan's", f"{ideal / best:.3f}")
    gain, ideal_gain = median(ones, "elapsed") / median(ours, "elapsed"), median(ones, "ideal") / ideal
    bench.row(f"  libmodbus, one register a request, {median(ones, 'elapsed') * 1000:.0f} ms: times as long", f"{gain:.2f}")
    bench.row(f"  of what ideal wire times promise, {ideal_gain:.2f}", f"{gain / ideal_gain:.3f}", ">= 0.95",
              gain / ideal_gain >= 0.95)
    gaps = sorted({after - address - 1 for address, after in zip(addresses, addresses[1:])})
    bench.series("  ideal wire time of greedy bridging at every gap limit, against the cheapest plan's",
                 {gap: f"{line.greedy(addresses, gap) / best:.3f}" for gap in gaps})


def figures(folder, plain_client):
    for baud, goal in BAUDS.items():
        figures_at(folder, plain_client, baud, goal)
