#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# record: what is kept, with what it is compared, copies as YAML, power cycles, and all that can be wrong with a store.
import os
import re
import shutil
import sqlite3
import unittest

import golden
import program
from program import Case, Simulator, asleft, fixture, text_of

MAP, SHEET = fixture("writable.yaml"), fixture("W-1.yaml")


def drive(*settings):
    options = [word for setting in settings for word in ("--set", setting)]
    return Simulator(MAP, *options, sheet=SHEET)


class RecordCase(Case):
    def setUp(self):
        super().setUp()
        self.store = os.path.join(self.folder, "kept", "records.sqlite")

    def record(self, sim, *options, sheet=SHEET):
        return asleft("record", sheet, "--port", sim.port, "--store", self.store, *options)


class Kept(RecordCase):
    def test_all_values_but_commands(self):
        with drive() as sim:
            result = self.record(sim, "--as", "found", "--format", "json")
        self.status(0, result)
        self.quiet(result)
        values = result.values()
        self.assertEqual((3.0, "A", [300]), tuple(values["motor_current"][k] for k in ("value", "unit", "raw")))
        self.assertNotIn("command_word", values)
        self.assertEqual("asleft/record/1", result.json()["schema"])

    def test_pages(self):
        with drive() as sim:
            self.record(sim, "--as", "left")
            sim.key("set motor_current=6.0 A")
            sim.lines.wait_for("motor_current")
            golden.check(self, "record.txt", self.record(sim, "--as", "left", "--after-power-cycle"))
            self.balanced(self.record(sim, "--as", "found", "--format", "html").out)
            self.balanced(asleft("history", "W-1", "--store", self.store, "--format", "html").out)

    def test_text_says_what_was_kept(self):
        with drive() as sim:
            result = self.record(sim, "--as", "found")
        self.status(0, result)
        self.assertRegex(result.out.splitlines()[-1], r"W-1: recorded as found, .*record [0-9a-f]{8}")

    def test_the_next_of_its_kind_is_compared(self):
        with drive() as sim:
            self.record(sim, "--as", "found")
            sim.key("set motor_current=6.0 A")
            sim.lines.wait_for("motor_current")
            other_kind = self.record(sim, "--as", "left")
            same_kind = self.record(sim, "--as", "found")
        self.assertNotIn("CHANGED", other_kind.out, other_kind)
        self.assertRegex(same_kind.out, r"CHANGED[\s\S]*motor_current[\s\S]*3\.00 A[\s\S]*6\.00 A", same_kind)
        self.status(0, same_kind)

    def test_the_store_is_its_owners_alone(self):
        with drive() as sim:
            self.record(sim, "--as", "found")
        self.assertEqual(0o600, os.stat(self.store).st_mode & 0o777)
        self.assertEqual(0o700, os.stat(os.path.dirname(self.store)).st_mode & 0o777)

    def test_the_usual_place(self):
        with drive() as sim:
            env = program.environment(XDG_STATE_HOME=self.folder)
            self.status(0, asleft("record", SHEET, "--port", sim.port, "--as", "found", env=env))
            self.assertTrue(os.path.exists(os.path.join(self.folder, "asleft", "records.sqlite")))
            env = program.environment(XDG_STATE_HOME=None, HOME=self.folder)
            self.status(0, asleft("record", SHEET, "--port", sim.port, "--as", "found", env=env))
            self.assertTrue(os.path.exists(os.path.join(self.folder, ".local", "state", "asleft", "records.sqlite")))

    def test_over_a_serial_line(self):
        link = os.path.join(self.folder, "line")
        with Simulator(MAP, "--pty", link, sheet=SHEET):
            result = asleft("record", SHEET, "--serial", link, "--as", "found", "--store", self.store, "--format", "json")
        self.status(0, result)
        self.assertIn(link, result.json()["line"], result)

    def test_not_all_read_is_kept_and_2(self):
        text = text_of(MAP) + "  nowhere: {at: holding 0x0900, type: u16}\n"
        self.write("writable.yaml", text)
        shutil.copy(SHEET, self.folder)
        with drive() as sim:
            result = self.record(sim, "--as", "found", sheet=os.path.join(self.folder, "W-1.yaml"))
        self.status(program.INCOMPLETE, result)
        self.assertIn("record ", result.out.splitlines()[-1], result)
        self.status(0, asleft("history", "W-1", "--store", self.store))

    def test_no_contact_keeps_nothing(self):
        result = asleft("record", SHEET, "--port", "1", "--as", "found", "--store", self.store)
        self.status(program.CONTACT, result)
        self.assertEqual("", result.out, result)
        self.refused(program.USE, "no drive 'W-1'", asleft("history", "W-1", "--store", self.store))

    def test_several_drives(self):
        other = self.write("W-2.yaml", text_of(SHEET).replace("tag: W-1", "tag: W-2").replace(
            "writable.yaml", MAP))
        with drive() as sim:
            result = asleft("record", SHEET, other, "--port", sim.port, "--as", "found", "--store", self.store, "--format",
                            "json")
        self.status(0, result)
        self.assertEqual(2, len(result.out.splitlines()), result)


class Export(RecordCase):
    def test_equal_values_give_equal_lines(self):
        first, second = os.path.join(self.folder, "a.yaml"), os.path.join(self.folder, "b.yaml")
        with drive() as sim:
            self.status(0, self.record(sim, "--as", "found", "--export", first))
            self.status(0, self.record(sim, "--as", "found", "--export", second))
        values = [text_of(path).split("\nvalues:")[1] for path in (first, second)]
        self.assertEqual(*values)
        self.assertIn("motor_current", values[0])
        self.assertEqual([], [name for name in os.listdir(self.folder) if ".part-" in name])

    def test_proofread_knows_it(self):
        path = os.path.join(self.folder, "a.yaml")
        with drive() as sim:
            self.record(sim, "--as", "found", "--export", path)
        self.status(0, asleft("proofread", path))

    def test_where_it_cannot_be_written(self):
        with drive() as sim:
            result = self.record(sim, "--as", "found", "--export", os.path.join(self.folder, "no", "a.yaml"))
        self.refused(program.OUTPUT, "cannot be written", result)

    def test_no_contact_leaves_none(self):
        path = self.write("a.yaml", "as it was\n")
        result = asleft("record", SHEET, "--port", "1", "--as", "found", "--store", self.store, "--export", path)
        self.status(program.CONTACT, result)
        self.assertEqual("as it was\n", text_of(path))

    def test_one_sheet_only(self):
        self.refused(program.USE, "one sheet", asleft("record", SHEET, SHEET, "--as", "found", "--export", "x"))


class PowerCycle(RecordCase):
    def test_kept(self):
        with drive() as sim:
            self.status(0, self.record(sim, "--as", "left"))
            result = self.record(sim, "--as", "left", "--after-power-cycle", "--format", "json")
        self.status(0, result)
        self.assertIs(True, result.json()["after_power_cycle"], result)

    def test_not_kept(self):
        with drive() as sim:
            self.record(sim, "--as", "left")
            sim.key("set motor_current=6.0 A")
            sim.lines.wait_for("motor_current")
            result = self.record(sim, "--as", "left", "--after-power-cycle", "--format", "json")
        self.status(program.DIFFERS, result)
        self.assertIs(False, result.json()["after_power_cycle"], result)
        self.assertIn("motor_current was not kept through the power cycle: 3.00 A before, 6.00 A now", result.err, result)

    def test_live_values_do_not_count(self):
        with drive() as sim:
            self.record(sim, "--as", "left")
            sim.key("run-command on")
            sim.lines.wait_for("run")
            self.status(0, self.record(sim, "--as", "left", "--after-power-cycle"))

    def test_needs_a_record_as_left(self):
        with drive() as sim:
            self.record(sim, "--as", "found")
            result = self.record(sim, "--as", "left", "--after-power-cycle")
        self.refused(program.USE, "W-1 has no record as left", result)

    def test_goes_with_left_only(self):
        self.refused(program.USE, "--as left", asleft("record", SHEET, "--as", "found", "--after-power-cycle"))


class WrongUse(Case):
    def test_as_what_has_to_be_said(self):
        self.refused(program.USE, "--as found or --as left", asleft("record", SHEET))
        self.refused(program.USE, "found or left is due", asleft("record", SHEET, "--as", "lost"))

    def test_options_of_other_commands(self):
        for option in ("--confirm", "--replacement", "--parameter", "--since", "--quiet"):
            with self.subTest(option):
                self.refused(program.USE, option, asleft("record", SHEET, option, "x"))


class Stores(RecordCase):
    """A store that cannot be used is told before the drive is asked; read and verify warn and go on."""

    def refuse_all(self, store, words):
        for command in (("record", SHEET, "--as", "found"), ("write", SHEET), ("restore", SHEET, "found")):
            with self.subTest(command[0]):
                result = asleft(*command, "--port", "1", "--store", store)  # nobody listens there
                self.refused(program.CONTACT, words, result)
                self.assertNotIn("connect", result.err, result)
        with self.subTest("history"):
            self.status(program.CONTACT, asleft("history", "--store", store))

    def warn(self, store):
        with drive() as sim:
            for command in ("verify", "read"):
                with self.subTest(command):
                    result = asleft(command, SHEET, "--port", sim.port, "--store", store)
                    self.status(0, result)
                    self.assertRegex(result.err, r"\Awarning: ", result)

    def test_no_database(self):
        path = self.write("notes.txt", "These are notes.\n" * 100)
        self.refuse_all(path, "notes.txt")
        self.warn(path)
        self.assertIn("These are notes", text_of(path))

    def test_another_programs_database(self):
        path = os.path.join(self.folder, "other.sqlite")
        with sqlite3.connect(path) as other:
            other.execute("create table mine (x)")
        other.close()
        self.refuse_all(path, "other.sqlite")

    def test_a_folder(self):
        self.refuse_all(self.folder, self.folder)
        self.warn(self.folder)

    def test_a_folder_that_cannot_be_made(self):
        path = os.path.join(self.write("file", ""), "records.sqlite")
        for command in (("record", SHEET, "--as", "found"), ("write", SHEET)):
            self.refused(program.CONTACT, "file", asleft(*command, "--port", "1", "--store", path))

    def test_nobody_says_where(self):
        env = program.environment(XDG_STATE_HOME=None, HOME=None)
        if os.geteuid() != 0:
            self.refused(program.CONTACT, "XDG_STATE_HOME", asleft("record", SHEET, "--as", "found", env=env))
        with drive() as sim:
            self.quiet(asleft("verify", SHEET, "--port", sim.port, env=env))

    def test_reading_makes_none(self):
        with drive() as sim:
            for command in ("verify", "read"):
                result = asleft(command, SHEET, "--port", sim.port, "--store", self.store)
                self.status(0, result)
                self.quiet(result)
        self.assertFalse(os.path.exists(os.path.dirname(self.store)))


if __name__ == "__main__":
    unittest.main()
