# SPDX-License-Identifier: MIT
# Runs asleft witness beside a simulator whose keypad starts and stops the motor, for the tests of witness.
import os
import re
import subprocess
import time

import program
from program import Case, Lines, Simulator, asleft, fixture

MAP, SHEET = fixture("witnessed.yaml"), fixture("R-1.yaml")
STEADY_S = 1  # how long a run is held: part of the run, nothing is waited for


class Witness:
    """asleft witness while it samples; use it in a with statement."""

    def __init__(self, *options, sheet=SHEET, env=None):
        self.command = [program.ASLEFT, "witness", sheet, *options]
        self.env = env or program.environment()

    def __enter__(self):
        self.process = subprocess.Popen(self.command, env=self.env, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE)
        self.out, self.err = Lines(self.process.stdout), Lines(self.process.stderr)
        return self

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        for stream in (self.process.stdout, self.process.stderr):
            stream.close()

    def samples(self):
        self.err.wait_for("start the motor at the drive now")

    def result(self):
        status = self.process.wait(timeout=program.PATIENCE_S)
        for lines in (self.out, self.err):
            while lines.next() is not None:
                pass
        return program.Result(self.command, status, "\n".join(self.out.seen).encode(), "\n".join(self.err.seen).encode())


def until(sim, parameter, pattern):
    """Asks the keypad until the drive shows that."""
    while True:
        sim.key(f"show {parameter}")
        if re.search(pattern, sim.lines.wait_for(parameter)):
            return


def run_up_and_down(sim):
    sim.key("start")
    until(sim, "output_frequency", r"60\.00? Hz")
    time.sleep(STEADY_S)
    sim.key("stop")


class WitnessCase(Case):
    def setUp(self):
        super().setUp()
        self.store = os.path.join(self.folder, "records.sqlite")

    def drive(self, *options, acceleration="2 s", deceleration="3 s"):
        return Simulator(MAP, "--set", f"acceleration_time={acceleration}", "--set", f"deceleration_time={deceleration}",
                         *options, sheet=SHEET)

    def witness(self, sim, *options, run=run_up_and_down):
        line = ("--port", sim.port) if sim.port else ("--serial", sim.address)
        with Witness(*line, "--store", self.store, "--format", "json", *options) as witness:
            witness.samples()
            run(sim)
            return witness.result()

    def again(self, *options, which="witnessed"):
        return asleft("witness", SHEET, "--from", which, "--store", self.store, *options)

    def measure(self, result, name):
        found = [measure for measure in result.json()["measures"] if measure["name"] == name]
        self.assertEqual(1, len(found), f"{name}\n{result}")
        return found[0]

    def covers(self, measure, truth):
        """The truth lies within three times what the measure gives as 95 of 100: no test fails by chance."""
        self.assertLessEqual(measure["found"] - 3 * measure["below"] - 0.02 * truth, truth, measure)
        self.assertGreaterEqual(measure["found"] + 3 * measure["above"] + 0.02 * truth, truth, measure)
