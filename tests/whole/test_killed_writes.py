#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# write and restore killed at points drawn from a seed, around every request and everything put on the disk: the store
# stays whole, the next call tells what the drive's own log says, and restoring brings back what was there.
#
# The program kills itself (struck.c). The yardstick is the log of the simulator; there is no published source for it.
import concurrent.futures
import itertools
import os
import random
import re
import shlex
import shutil
import sqlite3
import sys
import tempfile
import time
import unittest

import program
from program import Case, Simulator, asleft, fixture, text_of
from tap import wait_until_saved

program.ASLEFT = os.environ.get("ASLEFT_STRUCK", "asleft-struck")

SEED = 5
LONG = bool(os.environ.get("ASLEFT_LONG"))
BENCHES = 2  # of each of four kinds of run, at the same time, since most of it is waiting
POINTS = 125 if LONG else 25  # of each bench: 200 in all, or with ASLEFT_LONG 1000
MOMENTS = ("before", "half", "after")
UNIT, SAVE_AT = 4, 0x60
CODE_LASTS_S = 300  # before a new one is asked for; codes hold for 15 minutes

# name: (address, words, the raw value in the drive, that of the sheet, the order of 32-bit halves)
PARAMETERS = {
    "motor_current": (0x10, 1, 600, 300, None),
    "motor_voltage": (0x12, 2, 230000, 460000, "low-first"),
    "motor_speed": (0x14, 1, 1800, 1745, None),
    "maximum_frequency": (0x16, 2, 50000, 60000, "high-first"),
    "minimum_frequency": (0x18, 1, 50, 200, None),
    "start_source": (0x20, 1, 0, 1, None),
    "acceleration_time": (0x22, 2, 10000, 70000, "together"),
    "energy_saver": (0x24, 1, 0, 1, None),
}
SETTINGS = ("motor_current=6.0 A", "motor_voltage=230 V", "motor_speed=1800", "maximum_frequency=50 Hz",
            "minimum_frequency=5 Hz", "start_source=keypad", "acceleration_time=10 s", "energy_saver=0")

# What the notes call each outcome that an interrupted run of these can have.
WRITTEN = "Written and read back"
NOT_BEGUN = "Not begun"
NOT_KNOWN = "Not known, the request was on its way (read these at the drive)"
NOT_SAVED = "The drive was not told to save"
SAVE_NOT_KNOWN = "Whether the drive saved its values is not known"


def rows_of(name):
    """The writes that set a parameter as the sheet says: [(address, words)]."""
    address, count, _, raw, order = PARAMETERS[name]
    if count == 1:
        return [(address, f"{raw:04x}")]
    high, low = (address, f"{raw >> 16:04x}"), (address + 1, f"{raw & 0xffff:04x}")
    if order == "together":
        return [(address, f"{high[1]} {low[1]}")]
    return [low, high] if order == "low-first" else [high, low]


class Told:
    """The notes about an interrupted write, if there are any."""

    def __init__(self, result):
        notes = [line.removeprefix("note: ") for line in result.err.splitlines() if line.startswith("note: ")]
        self.anything = bool(notes)
        self.groups, self.not_saved, self.save_not_known = {}, False, False
        for note in notes:
            head, _, rest = note.partition(": ")
            if head in (WRITTEN, NOT_BEGUN, NOT_KNOWN):
                self.groups[head] = [re.match(r"(\w+) from ", part).group(1) for part in rest.rstrip(".").split("; ")]
            self.not_saved |= note.startswith(NOT_SAVED)
            self.save_not_known |= note.startswith(SAVE_NOT_KNOWN)
        self.other = [note for note in notes if note.startswith(("Written, ", "Not written, ", "Refused", "Left out", "Set by"))]

    def named(self, group):
        return self.groups.get(group, [])


class Bench:
    """A simulated drive with everything set wrong, its sheet, and what one kind of run does to it."""

    def __init__(self, case, kind, serial):
        self.case, self.kind, self.serial = case, kind, serial
        self.folder = tempfile.mkdtemp(prefix=f"asleft-{kind}-", dir="/dev/shm" if os.access("/dev/shm", os.W_OK) else None)
        self.log = os.path.join(self.folder, "writes.csv")
        self.store = os.path.join(self.folder, "records.sqlite")
        self.kept = os.path.join(self.folder, "kept.yaml")
        self.points = os.path.join(self.folder, "points")
        self.code, self.code_at = None, 0
        self.hits, self.unknown, self.told = 0, 0, 0

    def __enter__(self):
        link = os.path.join(self.folder, "line")
        options = [word for setting in SETTINGS for word in ("--set", setting)] + ["--writes", self.log]
        options += ["--pty", link] if self.serial else []
        self.sim = Simulator(fixture("halves.yaml"), *options, sheet=fixture("H-1.yaml")).__enter__()
        line = (f"{{serial: {link}, baud: 115200, parity: none, unit: {UNIT}, alone: true}}" if self.serial
                else f"{{host: 127.0.0.1, port: {self.sim.port}, unit: {UNIT}}}")
        text = text_of(fixture("H-1.yaml")).replace("map: halves.yaml", f"map: {fixture('halves.yaml')}")
        self.sheet = os.path.join(self.folder, "sheet.yaml")
        with open(self.sheet, "w", encoding="utf-8") as stream:
            stream.write(re.sub(r"(?m)^line: .*$", f"line: {line}", text))
        return self

    def __exit__(self, *how):
        self.sim.__exit__(*how)
        shutil.rmtree(self.folder)

    # ---- asking the drive ----

    def run(self, command, *arguments, **environment):
        return asleft(command, self.sheet, *arguments, "--store", self.store, env=program.environment(**environment))

    def confirm(self, *command):
        """Shows a list and writes it; the two results."""
        shown = self.run(*command)
        self.case.status(program.DIFFERS, shown)
        return shown, self.run(*command, "--confirm", self.code_of(shown))

    def code_of(self, shown):
        words = shlex.split(shown.out.splitlines()[-1])
        self.case.assertEqual("--confirm", words[-2], f"\n{shown}")
        return words[-1]

    def held(self):
        result = self.run("read", "--format", "json")
        self.case.status(0, result)
        return {name: value["raw"] for name, value in result.values().items() if name != "output_frequency"}

    def rows(self, since):
        """[(address, words)] of what the drive took in since then; every one of it was done as it was sent."""
        with open(self.log, encoding="utf-8") as stream:
            rows = [line.split(",") for line in stream.read().splitlines()[1 + since:]]
        for row in rows:
            self.case.assertEqual((str(UNIT), "16", "done", ""), (row[0], row[1], row[4], row[5]), rows)
        return [(int(row[2]), row[3]) for row in rows]

    def rows_so_far(self):
        with open(self.log, encoding="utf-8") as stream:
            return len(stream.read().splitlines()) - 1

    # ---- the run ----

    def command(self):
        return ("write",) if self.kind == "write" else ("restore", self.kept)

    def new_store(self):
        for end in ("", "-wal", "-shm"):
            if os.path.exists(self.store + end):
                os.remove(self.store + end)

    def prepare(self):
        """The record to restore, what is there at the start, and how many points a whole run passes."""
        self.before = self.held()
        wrong = {name: [raw] if count == 1 else [raw >> 16, raw & 0xFFFF]
                 for name, (_, count, raw, _, _) in PARAMETERS.items()}
        self.case.assertEqual(wrong, {name: self.before[name] for name in wrong})
        if self.kind == "restore":
            self.case.status(0, self.confirm("write")[1])
            self.case.status(0, self.run("record", "--as", "left", "--export", self.kept))
            self.case.status(0, self.confirm("restore", "before-write")[1])
        self.new_store()
        since = self.rows_so_far()
        result = self.strike("0 never")
        self.case.status(0, result)
        self.whole = self.rows(since)
        expected = [row for name in PARAMETERS for row in rows_of(name)] + [(SAVE_AT, "0001")]
        self.case.assertEqual(sorted(expected), sorted(self.whole))
        self.case.assertEqual(expected[-1], self.whole[-1])
        with open(self.points, encoding="ascii") as stream:
            self.letters = stream.read()
        self.put_back()

    def fresh_code(self):
        if self.code is None or time.monotonic() - self.code_at > CODE_LASTS_S:
            self.code, self.code_at = self.code_of(self.run(*self.command())), time.monotonic()
        return self.code

    def strike(self, strike):
        code = self.fresh_code()
        if os.path.exists(self.points):
            os.remove(self.points)
        return self.run(*self.command(), "--confirm", code, ASLEFT_STRIKE=strike, ASLEFT_POINTS=self.points)

    # ---- one trial ----

    def trial(self, number, moment):
        """False where the run came to its end before that point, which can be where it waited less than the first."""
        where = f"{self.kind}, {'serial' if self.serial else 'tcp'}, point {number} {moment}"
        self.new_store()
        since = self.rows_so_far()
        result = self.strike(f"{number} {moment}")
        if result.status == 0:
            self.put_back()
            return False
        self.case.status(-9, result)
        self.case.assertEqual(number, os.path.getsize(self.points), where)
        self.check_store(copied=True)
        if not self.serial:
            wait_until_saved(self.sim.port, UNIT, SAVE_AT)
        verified = self.run("verify")
        self.case.status(program.DIFFERS if self.held() != self.right() else 0, verified)
        self.judge(Told(verified), self.rows(since), f"{where}\n{result}\n{verified}")
        self.put_back()
        self.check_store()
        self.hits += 1
        return True

    def right(self):
        right = dict(self.before)
        for name, (_, count, _, raw, _) in PARAMETERS.items():
            right[name] = [raw] if count == 1 else [raw >> 16, raw & 0xFFFF]
        return right

    def check_store(self, copied=False):
        """SQLite's own check; of a copy where nobody has opened the store since the kill."""
        place = self.store
        if not os.path.exists(place):
            return
        if copied:
            place = os.path.join(self.folder, "copy.sqlite")
            for end in ("", "-wal"):
                if os.path.exists(place + end):
                    os.remove(place + end)
                if os.path.exists(self.store + end):
                    shutil.copyfile(self.store + end, place + end)
        connection = sqlite3.connect(place)
        try:
            self.case.assertEqual([("ok",)], connection.execute("PRAGMA integrity_check").fetchall())
            self.case.assertEqual([], connection.execute("PRAGMA foreign_key_check").fetchall())
        finally:
            connection.close()

    def judge(self, told, rows, where):
        case = self.case
        case.assertEqual(self.whole[:len(rows)], rows, where)  # in the announced order, once each, nothing else
        saved = (SAVE_AT, "0001") in rows
        if not told.anything:
            case.assertIn(rows, ([], self.whole), where)
            return
        self.told += 1
        case.assertEqual([], told.other, where)
        names = [name for group in told.groups.values() for name in group]
        case.assertEqual(sorted(PARAMETERS), sorted(names), where)
        case.assertLessEqual(len(told.named(NOT_KNOWN)) + told.save_not_known, 1, where)
        self.unknown += len(told.named(NOT_KNOWN)) + told.save_not_known
        for name in PARAMETERS:
            due, got = rows_of(name), [row for row in rows if row in rows_of(name)]
            if name in told.named(WRITTEN):
                case.assertEqual(due, got, f"{name}: {where}")
            elif name in told.named(NOT_BEGUN):
                case.assertEqual([], got, f"{name}: {where}")
            else:
                case.assertEqual(due[:len(got)], got, f"{name}: {where}")
        if told.not_saved:
            case.assertFalse(saved, where)
        elif not told.save_not_known and told.named(WRITTEN):
            case.assertTrue(saved, where)

    def put_back(self):
        """Restores what was there before the write, and sees that all of it came back, to stay."""
        shown = self.run("restore", "before-write")
        if shown.status == program.DIFFERS:
            result = self.run("restore", "before-write", "--confirm", self.code_of(shown))
            self.case.status(0, result)
        else:  # nothing was written, or so early that there is no record yet
            self.case.assertIn(shown.status, (0, program.USE), f"\n{shown}")
        self.case.assertEqual(self.before, self.held(), f"\n{shown}")
        self.sim.key("power-cycle")
        self.sim.lines.wait_for("power")
        self.case.assertEqual(self.before, self.held(), f"\n{shown}")
        after = self.run("verify")
        self.case.status(program.DIFFERS, after)
        self.case.quiet(after)


class KilledWrites(Case):
    def trials(self, kind, serial, bench):
        dice = random.Random(f"{SEED} {kind} {serial} {bench}")
        with Bench(self, kind, serial) as bench:
            bench.prepare()
            self.assertLessEqual({"t" if serial else "s", "f", "p"}, set(bench.letters))
            places = [(number, moment) for number in range(1, len(bench.letters) + 1) for moment in MOMENTS
                      if moment != "half" or bench.letters[number - 1] != "f"]
            dice.shuffle(places)
            while bench.hits < POINTS:
                bench.trial(*places.pop())  # far more than are needed
            return bench.hits, bench.told, bench.unknown

    def test_killed_anywhere(self):
        benches = list(itertools.product(("write", "restore"), (False, True), range(BENCHES)))
        with concurrent.futures.ThreadPoolExecutor(len(benches)) as pool:
            tallies = list(pool.map(lambda bench: self.trials(*bench), benches))
        hits, told, unknown = (sum(tally) for tally in zip(*tallies))
        print(f"{hits} killed, {told} of them with a journal under way, {unknown} in a write", file=sys.stderr)
        self.assertEqual(POINTS * len(benches), hits)
        # at least a third of the points lie between the journal's begin and end, and some in a write
        self.assertGreater(told, hits / 3)
        self.assertGreater(unknown, hits / 20)


if __name__ == "__main__":
    unittest.main()
