#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# witness: how it ends, what it says on a terminal, and what faults on the line leave of a run.
import fcntl
import os
import re
import signal
import struct
import subprocess
import termios
import time
import unittest

import program
from program import asleft
from witnessing import MAP, SHEET, STEADY_S, Witness, WitnessCase, until


class Ends(WitnessCase):
    def test_most_ends_a_wait(self):
        with self.drive() as sim:
            result = self.witness(sim, "--most", "1s", run=lambda sim: None)
        self.status(program.INCOMPLETE, result)
        self.assertFalse(result.json()["seen"], result)
        self.assertIsNone(result.json()["record"], result)
        self.assertIn("no run was seen", " ".join(result.json()["remarks"]))
        self.refused(program.USE, "no record of R-1", self.again())

    def test_a_signal_loses_no_samples(self):
        with self.drive() as sim, Witness("--port", sim.port, "--store", self.store, "--format", "json") as witness:
            witness.samples()
            sim.key("start")
            until(sim, "output_frequency", r"60\.00? Hz")
            time.sleep(STEADY_S)
            program.interrupt(witness.process)
            result = witness.result()
        self.status(-signal.SIGINT, result)
        self.assertEqual("agrees", self.measure(result, "acceleration_time")["verdict"], result)
        self.assertEqual(result.json(), self.again("--format", "json").json())

    def test_a_signal_before_the_start(self):
        with self.drive() as sim, Witness("--port", sim.port, "--store", self.store, "--format", "json") as witness:
            witness.samples()
            program.interrupt(witness.process)
            result = witness.result()
        self.status(-signal.SIGINT, result)
        self.assertFalse(result.json()["seen"], result)

    def test_another_model(self):
        with self.drive("--set", "model_code=7") as sim:
            result = asleft("witness", SHEET, "--port", sim.port, "--store", self.store, "--format", "json")
        self.status(program.INCOMPLETE, result)
        self.assertIn("another model", result.json()["remark"], result)
        self.assertEqual([], result.json()["series"], result)
        self.assertNotIn("start the motor at the drive now", result.err)

    def test_no_contact(self):
        result = asleft("witness", SHEET, "--port", "1", "--store", self.store)
        self.status(program.CONTACT, result)
        self.assertEqual("", result.out, result)

    def test_wrong_use(self):
        self.refused(program.USE, "opens no line", self.again("--port", "5020"))
        self.refused(program.USE, "opens no line", self.again("--most", "5min"))
        self.refused(program.USE, "one sheet", asleft("witness", SHEET, SHEET))
        self.refused(program.USE, "--most", asleft("witness", SHEET, "--most", "5"))

    def test_the_line_on_a_terminal(self):
        leader, terminal = os.openpty()
        fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 100, 0, 0))
        with self.drive() as sim:
            process = subprocess.Popen([program.ASLEFT, "witness", SHEET, "--port", sim.port, "--store", self.store],
                                       env=program.environment(TERM="xterm"), stdin=subprocess.DEVNULL,
                                       stdout=subprocess.PIPE, stderr=terminal)
            os.close(terminal)
            shown = b""
            while b"waiting for the start" not in shown:
                shown += os.read(leader, 4096)
            sim.key("start")
            while not re.search(rb"running  60\.0 Hz  \d\.\d\d A  \d+ V  bus  \d+ V  running  at_speed", shown):
                shown += os.read(leader, 4096)
            sim.key("stop")
            while True:
                try:
                    shown += os.read(leader, 4096)
                except OSError:  # the other end is closed
                    break
            process.stdout.read()
            process.stdout.close()
            self.assertIn(process.wait(timeout=program.PATIENCE_S), (0, 1, 2))
        os.close(leader)
        self.assertTrue(shown.endswith(b"\r\x1b[K"), shown[-200:])


class Faults(WitnessCase):
    def test_faults_leave_gaps_and_no_wrong_values(self):
        """Up and down again without a step back: a value of another register, or an old one, would be such a step."""
        link = os.path.join(self.folder, "line")
        faults = ("corrupt:2%", "silent:1%", "cut:1%", "late=30ms:2%", "doubled=2ms:4%", "doubled=12ms:3%", "noise:2%",
                  "foreign-unit:1%")
        options = [word for fault in faults for word in ("--fault", fault)]
        with self.drive("--pty", link, "--unit", "4", "--pace", "38400", "--turnaround", "3", "--seed", "9",
                        *options) as sim:
            result = self.witness(sim, "--baud", "38400")
        series = {one["means"]: one for one in result.json()["series"]}
        at, within, value = (series["live.output_frequency"][key] for key in ("at_ms", "within_ms", "value"))
        traffic = result.json()["run"]["traffic"]
        self.assertGreater(traffic["timeouts"] + traffic["bad_frames"] + traffic["discarded"], 10, result)
        self.assertLess(len(value), traffic["requests"], result)
        top = value.index(60)
        down = len(value) - value[::-1].index(60)
        self.assertEqual(sorted(value[:top]), value[:top], result)
        self.assertEqual({60}, set(value[top:down]), result)
        self.assertEqual(sorted(value[down:], reverse=True), value[down:], result)
        self.assertEqual({60.0}, set(series["live.frequency_command"]["value"]), result)
        ramps = [measure for measure in result.json()["measures"] if (measure["means"] or "").startswith("ramp.")]
        self.assertNotEqual([], ramps, result)
        self.assertNotIn("differs", [measure["verdict"] for measure in ramps], result)
        self.assertTrue(all(later > earlier for earlier, later in zip(at, at[1:])), result)
        self.assertTrue(all(one > 0 for one in within), result)

    def test_a_drive_that_goes_silent_is_given_up(self):
        with self.drive() as sim, Witness("--port", sim.port, "--store", self.store, "--format", "json") as witness:
            witness.samples()
            sim.key("start")
            until(sim, "output_frequency", r"60\.00? Hz")
            sim.key("power-cycle 10min")
            result = witness.result()
        self.assertIn("has not answered for 15 s", result.err, result)
        self.assertTrue(result.json()["seen"], result)
        self.assertEqual(result.json(), self.again("--format", "json").json())


if __name__ == "__main__":
    unittest.main()
