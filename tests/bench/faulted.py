# SPDX-License-Identifier: MIT
# Figures of truth: what asleft and a plain libmodbus client read from the same faulted line, and how much of it is wrong.
import os
import subprocess

import bench
import program

SEEDS = range(1, 13)
PATIENCE_MS = 70  # what libmodbus waits for a reply; asleft allows the map's 50 ms and 20 ms more
FAULTS = ("late=90ms-200ms:10%", "deaf:4%", "corrupt:4%", "cut:4%", "noise:3%", "foreign-unit:3%", "doubled:3%",
          "doubled=3ms:3%", "echo:3%")


class Count:
    def __init__(self):
        self.right = self.wrong = self.unread = 0

    def add(self, index, raw):
        if raw is None:
            self.unread += 1
        elif raw == bench.setting(index):
            self.right += 1
        else:
            self.wrong += 1

    def row(self, who, **goal):
        bench.row(f"  {who}: {self.right} values right, {self.unread} unread, wrong", f"{self.wrong}", **goal)


def count_ours(sheet, addresses, count):
    result = program.asleft("read", sheet, *bench.names(addresses), "--format", "json")
    values = result.values()
    for index in range(len(addresses)):
        value = values[f"value_{index}"]
        count.add(index, None if value["symptom"] else value["raw"][0])


def count_plain(plain_client, port, addresses, count):
    command = [plain_client, f"{port}:19200:{PATIENCE_MS}", str(bench.UNIT), *map(str, addresses)]
    result = subprocess.run(command, capture_output=True, text=True, timeout=program.PATIENCE_S)
    raws = dict(line.split() for line in result.stdout.splitlines())
    for index, address in enumerate(addresses):
        count.add(index, int(raws[str(address)]) if str(address) in raws else None)


def figures(folder, plain_client):
    addresses = bench.scattered_addresses()
    port = os.path.join(folder, "faulted")
    map_path, sheet = bench.write_drive(folder, addresses, f"serial: {port}, baud: 19200, parity: even, alone: true",
                                        ", answers_within: 50 ms")
    options = ["--pty", port, "--turnaround", "2", "--busy", "queue"]
    for fault in FAULTS:
        options += ["--fault", fault]
    for habit in ("queue", "ignore"):
        options[options.index("--busy") + 1] = habit
        ours, plain = Count(), Count()
        for seed in SEEDS:
            # A line of its own for each, that begins with nothing under way.
            with program.Simulator(map_path, *options, "--seed", str(seed), sheet=sheet):
                count_ours(sheet, addresses, ours)
            with program.Simulator(map_path, *options, "--seed", str(seed), sheet=sheet):
                count_plain(plain_client, port, addresses, plain)
        answers = "answers all in turn" if habit == "queue" else "loses what comes while it is busy"
        bench.row(f"37 % of requests faulted, drive {answers}, {len(SEEDS)} reads each", "")
        ours.row("asleft", goal="0", met=ours.wrong == 0)
        plain.row("libmodbus, three attempts")
