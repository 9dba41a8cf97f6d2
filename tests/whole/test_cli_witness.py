#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# witness: runs started at the simulator's keypad; what is measured of right and wrong ramps, what is kept and judged again.
import csv
import io
import os
import tempfile
import unittest

import program
from program import asleft, text_of
from witnessing import MAP, SHEET, WitnessCase, until


class Runs(WitnessCase):
    def test_right_ramps_agree_over_tcp(self):
        with self.drive() as sim:
            result = self.witness(sim)
        self.status(0, result)
        self.assertEqual("agrees", result.json()["verdict"], result)
        for name, truth in (("acceleration_time", 2), ("deceleration_time", 3)):
            measure = self.measure(result, name)
            self.assertEqual("agrees", measure["verdict"], result)
            self.covers(measure, truth)
        kinds = [phase["kind"] for phase in result.json()["phases"]]
        self.assertEqual(["rest", "ramp-up", "steady", "ramp-down"], kinds[:4], result)
        self.assertEqual("rest", kinds[-1], result)

    def test_right_ramps_agree_over_a_serial_line(self):
        link = os.path.join(self.folder, "line")
        with self.drive("--pty", link, "--unit", "4", "--pace", "19200", "--turnaround", "5") as sim:
            result = self.witness(sim)
        self.status(0, result)
        self.covers(self.measure(result, "acceleration_time"), 2)
        self.covers(self.measure(result, "deceleration_time"), 3)
        self.assertEqual({"retries": 0, "timeouts": 0, "bad_frames": 0, "discarded": 0},
                         {k: result.json()["run"]["traffic"][k] for k in ("retries", "timeouts", "bad_frames", "discarded")})

    def test_a_trip_ends_it(self):
        def run(sim):
            sim.key("start")
            until(sim, "output_frequency", r"[3-6]\d\.\d+ Hz")
            sim.key("trip")

        with self.drive() as sim:
            result = self.witness(sim, run=run)
        self.assertIn("tripped", [phase["kind"] for phase in result.json()["phases"]], result)
        self.assertIn("tripped", " ".join(result.json()["remarks"]), result)
        self.assertNotEqual(0, result.json()["series"][0]["value"][-1], result)

    def test_values_are_what_the_drive_had(self):
        with self.drive() as sim:
            result = self.witness(sim)
        series = {one["means"]: one for one in result.json()["series"]}
        frequency = series["live.output_frequency"]
        self.assertEqual(60, max(frequency["value"]), result)
        self.assertEqual(0, frequency["value"][-1], result)
        self.assertEqual(sorted(frequency["at_ms"]), frequency["at_ms"])
        self.assertEqual({("stopped",), ("running",), ("running", "at_speed")},
                         {tuple(words) for words in series["live.state"]["value"]}, result)
        self.assertEqual({60.0}, set(series["live.frequency_command"]["value"]), result)
        self.assertNotIn("live.heatsink_temperature", series)

    def test_a_scale_that_another_parameter_chooses(self):
        with self.drive("--set", "unit_choice=1") as sim:
            result = self.witness(sim)
        current = next(one for one in result.json()["series"] if one["means"] == "live.output_current")
        self.assertLess(1, max(current["value"]), result)
        self.assertGreater(4, max(current["value"]), result)


class Kept(WitnessCase):
    """One run, with a deceleration that is a third too slow."""

    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        folder = tempfile.TemporaryDirectory(prefix="asleft-test-")
        cls.addClassCleanup(folder.cleanup)
        cls.kept = os.path.join(folder.name, "records.sqlite")
        case = WitnessCase()
        case.store = cls.kept
        with case.drive(deceleration="4 s") as sim:
            cls.run_result = case.witness(sim)

    def again(self, *options, which="witnessed", sheet=SHEET):
        return asleft("witness", sheet, "--from", which, "--store", self.kept, *options)

    def test_a_wrong_deceleration_time_differs(self):
        result = self.run_result
        self.status(program.DIFFERS, result)
        self.assertEqual("agrees", self.measure(result, "acceleration_time")["verdict"], result)
        wrong = self.measure(result, "deceleration_time")
        self.assertEqual(("differs", "ramp.deceleration_time"), (wrong["verdict"], wrong["means"]), result)
        self.covers(wrong, 4)

    def test_samples_that_are_kept_give_the_same_findings(self):
        again = self.again("--format", "json")
        self.status(program.DIFFERS, again)
        self.quiet(again)
        self.assertEqual(self.run_result.json(), again.json())
        by_id = self.again("--format", "json", which=self.run_result.json()["record"][:8])
        self.assertEqual(self.run_result.json(), by_id.json())

    def test_another_sheet_judges_them_anew(self):
        sheet = self.write("R-1.yaml", text_of(SHEET).replace("deceleration_time: 3 s", "deceleration_time: 4 s").replace(
            "witnessed.yaml", MAP))
        again = self.again("--format", "json", sheet=sheet)
        self.status(0, again)
        self.assertIn("the sheet has changed", " ".join(again.json()["remarks"]), again)

    def test_csv_is_a_line_a_moment(self):
        rows = list(csv.DictReader(io.StringIO(self.again("--format", "csv").out, newline="")))
        frequency = next(one for one in self.run_result.json()["series"] if one["means"] == "live.output_frequency")
        taken = [row for row in rows if row["output_frequency (Hz)"]]
        self.assertEqual(frequency["value"], [float(row["output_frequency (Hz)"]) for row in taken])
        self.assertEqual(frequency["at_ms"], [round(float(row["at_s"]) * 1000, 3) for row in taken])
        self.assertEqual({("R-1", self.run_result.json()["record"])}, {(row["tag"], row["record"]) for row in rows})
        self.assertIn("running at_speed", {row["run_state"] for row in rows})

    def test_text_ends_with_the_verdict(self):
        last = self.again().out.splitlines()[-1]
        self.assertRegex(last, r"R-1 differs: 1 differs; \d+ agree, \d+ not checked; run [0-9a-f]{8}")

    def test_html_has_charts(self):
        page = self.again("--format", "html").out
        self.balanced(page)
        for title in ("output frequency", "output current", "bus voltage", "output voltage over frequency"):
            self.assertIn(title, page)
        self.assertEqual(4, page.count('role="img"'))
        self.assertIn("as the job asks", page)

    def test_the_formats_of_verdicts(self):
        self.assertIn('name="deceleration_time"', self.again("--format", "junit").out)
        self.assertIn('asleft_drive_verdict{tag="R-1",verdict="differs"} 1', self.again("--format", "openmetrics").out)

    def test_the_history_has_it(self):
        shown = asleft("history", "R-1", "--store", self.kept).out
        self.assertIn(self.run_result.json()["record"][:8], shown)


class Stores(WitnessCase):
    def test_what_can_be_wrong_with_a_record(self):
        self.refused(program.CONTACT, "there is no store", self.again())
        with self.drive() as sim:
            self.status(0, asleft("record", SHEET, "--port", sim.port, "--as", "found", "--store", self.store))
        self.refused(program.USE, "no record of R-1 is called 'witnessed'", self.again())
        self.refused(program.USE, "is no witnessed run", self.again(which="found"))

    def test_without_a_store_nothing_is_asked(self):
        with self.drive("--drives", "1") as sim:
            result = asleft("witness", SHEET, "--port", sim.port, "--store", os.path.join(MAP, "records"))
        self.refused(program.CONTACT, "witnessed.yaml", result)
        self.assertIn("requests 0,", "\n".join(sim.said()))


if __name__ == "__main__":
    unittest.main()
