#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# write and restore with something other than a terminal as standard input, whatever comes from it, from the environment
# and from near misses of --confirm: nobody is asked, and no write and no broadcast is on the line, TCP or serial.
import concurrent.futures
import os
import random
import subprocess
import unittest

import program
from program import Case, Simulator, fixture

SEED = 17
CALLS = 1500 if os.environ.get("ASLEFT_LONG") else 300
READS = {"1", "2", "3", "4", "17", "43"}
SETTINGS = ("motor_current=6.0 A", "motor_speed=1800", "energy_saver=0")
INPUTS = (b"yes\n", b"y\n", b"W-1\n", b"w-1\n", b"\n", b"\n" * 200, b"W-1\n" * 200, b"", b"W-1", b"1\n", b"YES\nW-1\n", b"\r\n", b"W-1\r\n",
          b"\x04W-1\n", b"\xff\xfe\n", b"confirm\n", b"write\n")
OPTIONS = ((), ("--confirm", "0000-0000"), ("--confirm=W-1",), ("--confirm", "yes"), ("--yes",), ("--confir", "W-1"), ("--force",),
           ("--format", "json"), ("--color", "always"), ("--confirm",), ("-y",), ("--confirm", ""), ("--", "--confirm"),
           ("--confirm", "W-1", "--confirm", "W-1"), ("yes",), ("--unit", "0"))
VARIABLES = ("ASLEFT_CONFIRM", "ASLEFT_YES", "ASLEFT_TAG", "ASLEFT_OPTIONS", "CONFIRM", "YES", "CI", "FORCE", "ASSUME_YES")


class NeverAsked(Case):
    def drive(self, name, *options):
        words = [word for setting in SETTINGS for word in ("--set", setting)]
        log, writes = os.path.join(self.folder, f"{name}.csv"), os.path.join(self.folder, f"{name}-writes.csv")
        return Simulator(fixture("writable.yaml"), *words, "--drives", "1", "--log", log, "--writes", writes, *options,
                         sheet=fixture("W-1.yaml"))

    def rows(self, name):
        with open(os.path.join(self.folder, f"{name}.csv"), encoding="utf-8") as stream:
            lines = [line.split(",") for line in stream.read().splitlines()]
        return [dict(zip(lines[0], line)) for line in lines[1:]]

    def call(self, number, line, store):
        dice = random.Random(f"{SEED} {number}")
        command = dice.choice((("write", self.sheet), ("write", self.sheet), ("restore", self.sheet, "left")))
        command = [program.ASLEFT, *command, *line, "--store", store, *dice.choice(OPTIONS)]
        variables = {name: dice.choice(("yes", "1", "W-1", "true")) for name in dice.sample(VARIABLES, dice.randrange(4))}
        run = subprocess.run(command, env=program.environment(**variables), input=dice.choice(INPUTS), capture_output=True,
                             timeout=program.PATIENCE_S)
        return program.Result(command, run.returncode, run.stdout, run.stderr)

    def calls(self, numbers, line, store):
        """One after the other, since each holds the line."""
        for number in numbers:
            result = self.call(number, line, store)
            silent = (program.INCOMPLETE,) if "--unit" in result.command else ()
            self.assertIn(result.status, (program.DIFFERS, program.USE, *silent), f"\n{result}")
            self.assertNotIn("type the drive's tag", result.out + result.err, f"\n{result}")

    def prepare(self, sim, line, store):
        """A record with another current, to be restored in vain."""
        for value in ("5.0 A", "6.0 A"):
            sim.key(f"set motor_current={value}")
            sim.lines.wait_for("motor_current")
            if value == "5.0 A":
                result = program.asleft("record", self.sheet, "--as", "left", *line, "--store", store)
                self.status(0, result)

    def test_no_write_and_no_broadcast(self):
        text = program.text_of(fixture("W-1.yaml")).replace("map: writable.yaml", f"map: {fixture('writable.yaml')}")
        link = os.path.join(self.folder, "line")
        self.sheet = self.write("sheet.yaml", text.replace(
            "{host: 127.0.0.1, port: 1, unit: 4}",
            f"{{serial: {link}, baud: 115200, parity: none, unit: 4, alone: true}}"))
        with self.drive("tcp") as tcp, self.drive("pty", "--pty", link) as pty:
            lines = {"tcp": ("--host", "127.0.0.1", "--port", tcp.port), "pty": ()}
            stores = {name: os.path.join(self.folder, f"{name}.sqlite") for name in lines}
            for name, sim in (("tcp", tcp), ("pty", pty)):
                self.prepare(sim, lines[name], stores[name])
            with concurrent.futures.ThreadPoolExecutor(2) as pool:
                runs = [pool.submit(self.calls, range(start, CALLS, 2), lines[name], stores[name])
                        for start, name in enumerate(lines)]
                for run in runs:
                    run.result()
        for name in lines:
            rows = self.rows(name)
            self.assertGreater(len(rows), CALLS)
            self.assertLessEqual({row["function"] for row in rows}, READS)
            # On TCP 0 is a unit like others to be read from, for who asks for it; on a serial line it is nobody's.
            self.assertLessEqual({row["unit"] for row in rows}, {"4", "0"} if name == "tcp" else {"4"})
            self.assertEqual(1, len(program.text_of(os.path.join(self.folder, f"{name}-writes.csv")).splitlines()))


if __name__ == "__main__":
    unittest.main()
