#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# history: records and changes of one drive and of all, in each format, by parameter and by time.
import json
import os
import unittest

import program
from program import Case, Simulator, asleft, fixture, text_of

MAP, SHEET = fixture("writable.yaml"), fixture("W-1.yaml")


class History(Case):
    def setUp(self):
        super().setUp()
        self.store = os.path.join(self.folder, "records.sqlite")
        other = text_of(SHEET).replace("tag: W-1", "tag: A-9").replace("writable.yaml", MAP)
        self.other = self.write("A-9.yaml", other)
        with Simulator(MAP, sheet=SHEET) as sim:
            self.record(sim, SHEET, "found")
            self.record(sim, self.other, "found")
            sim.key("set motor_current=6.0 A")
            sim.lines.wait_for("motor_current")
            sim.key("set energy_saver=0")
            sim.lines.wait_for("energy_saver")
            sim.key("start")
            sim.lines.wait_for("starting")
            self.left = self.record(sim, SHEET, "left")

    def record(self, sim, sheet, kind):
        result = asleft("record", sheet, "--port", sim.port, "--store", self.store, "--as", kind, "--format", "json")
        self.status(0, result)
        return result.json()

    def history(self, *arguments):
        return asleft("history", *arguments, "--store", self.store)

    def drives(self, *arguments):
        result = self.history(*arguments, "--format", "json")
        self.status(0, result)
        return {drive["tag"]: drive for drive in map(json.loads, result.out.splitlines())}

    def test_one_drive(self):
        drive = self.drives("W-1")["W-1"]
        self.assertEqual("asleft/history/1", drive["schema"])
        self.assertEqual(["found", "left"], [record["kind"] for record in drive["records"]], drive)
        self.assertEqual({"motor_current", "energy_saver"}, {change["parameter"] for change in drive["changes"]}, drive)

    def test_all_drives_by_name(self):
        self.assertEqual(["A-9", "W-1"], list(self.drives()))

    def test_text(self):
        result = self.history("W-1")
        self.status(0, result)
        self.quiet(result)
        self.assertRegex(result.out, r"motor_current\s+3\.00 A\s+6\.00 A", result)
        for line in result.out.splitlines():
            self.assertLessEqual(len(line), 80, line)

    def test_csv_has_the_changes(self):
        result = self.history("W-1", "--format", "csv")
        self.status(0, result)
        self.assertEqual({"motor_current", "energy_saver"}, {row["parameter"] for row in result.csv_rows()}, result)

    def test_one_parameter_from_its_first_value_on(self):
        changes = self.drives("W-1", "--parameter", "motor_current")["W-1"]["changes"]
        self.assertEqual({"motor_current"}, {change["parameter"] for change in changes})
        self.assertEqual(2, len(changes), changes)

    def test_what_runs_is_told_by_name_only(self):
        # found while it stood, left while it ran; the other tests count the changes without it
        changes = self.drives("W-1", "--parameter", "run_state")["W-1"]["changes"]
        self.assertEqual([(None, "stopped"), ("stopped", "running")], [(c["was"], c["now"]) for c in changes], changes)

    def test_since(self):
        began = self.left["began"]
        drive = self.drives("W-1", "--since", began)["W-1"]
        self.assertEqual(["left"], [record["kind"] for record in drive["records"]], drive)
        self.assertEqual(2, len(drive["changes"]), drive)
        self.assertEqual([], self.drives("W-1", "--since", "2999-01-01")["W-1"]["changes"])

    def test_unknown_drive(self):
        result = self.history("W-11")
        self.refused(program.USE, "no drive 'W-11'", result)
        self.assertIn("did you mean W-1", result.err, result)

    def test_unknown_parameter(self):
        result = self.history("W-1", "--parameter", "motor_curent")
        self.refused(program.USE, "no parameter 'motor_curent'", result)
        self.assertIn("did you mean motor_current", result.err, result)

    def test_no_store(self):
        missing = os.path.join(self.folder, "missing.sqlite")
        self.refused(program.CONTACT, "there is no store at", asleft("history", "--store", missing))
        self.assertFalse(os.path.exists(missing))

    def test_output_file(self):
        path = os.path.join(self.folder, "history.csv")
        result = self.history("--format", "csv", "--output", path)
        self.status(0, result)
        self.assertEqual("", result.out, result)
        self.assertIn("motor_current", text_of(path))

    def test_wrong_use(self):
        self.refused(program.USE, "one too many", self.history("W-1", "A-9"))
        self.refused(program.USE, "--since", self.history("W-1", "--since", "yesterday"))
        self.refused(program.USE, "--port", self.history("W-1", "--port", "502"))


if __name__ == "__main__":
    unittest.main()
