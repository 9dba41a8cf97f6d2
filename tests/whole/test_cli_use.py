#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# Help, version, and every kind of wrong use: status 64, said on standard error, nothing on standard output.
import re
import unittest

import program
from program import Case, asleft, fixture

COMMANDS = ("proofread", "setpoints", "read", "verify", "record", "write", "restore", "history")
WRITING = ("write", "restore")
SHEET = fixture("P-7.yaml")


class Help(Case):
    def test_help_lists_every_command(self):
        result = asleft("--help")
        self.status(0, result)
        self.quiet(result)
        for command in COMMANDS:
            self.assertRegex(result.out, rf"(?m)^\s+(asleft )?{command}\b", result)

    def test_help_of_each_command(self):
        for command in COMMANDS:
            with self.subTest(command):
                result = asleft(command, "--help")
                self.status(0, result)
                self.quiet(result)
                self.assertIn(f"asleft {command}", result.out, result)
                self.assertIn("--format", result.out, result)

    def test_help_fits_eighty_columns(self):
        for arguments in (("--help",), *((command, "--help") for command in COMMANDS)):
            longest = max(asleft(*arguments).out.splitlines(), key=len)
            self.assertLessEqual(len(longest), 80, f"{arguments}: {longest}")

    def test_version(self):
        result = asleft("--version")
        self.status(0, result)
        self.quiet(result)
        self.assertRegex(result.out, r"\Aasleft \d+\.\d+\.\d+\n\Z", result)

    def test_simulator_help(self):
        run = program.subprocess.run([program.ASLEFT_SIM, "--help"], capture_output=True, text=True,
                                     env=program.environment(), stdin=program.subprocess.DEVNULL)
        self.assertEqual(0, run.returncode, run)
        self.assertEqual("", run.stderr, run)
        for option in ("--map", "--as", "--tcp", "--pty", "--set"):
            self.assertIn(option, run.stdout)


class WrongUse(Case):
    def test_nothing_at_all(self):
        self.refused(program.USE, "asleft --help", asleft())

    def test_unknown_command_suggests_the_near_one(self):
        result = asleft("verfy", SHEET)
        self.refused(program.USE, "verfy", result)
        self.assertIn("verify", result.err, result)

    def test_unknown_command_that_is_near_nothing(self):
        result = asleft("zzzzzzzz")
        self.refused(program.USE, "zzzzzzzz", result)
        self.assertNotIn("did you mean", result.err, result)

    def test_missing_file(self):
        for command in COMMANDS:
            if command == "history":  # all drives
                continue
            with self.subTest(command):
                self.refused(program.USE, command, asleft(command))

    def test_abbreviated_options_are_refused(self):
        for option in ("--forma", "--form", "--outpu", "--quie", "--colo"):
            for spelled in ((f"{option}=json",), (option, "json")):
                with self.subTest(spelled):
                    self.refused(program.USE, option, asleft("setpoints", SHEET, *spelled))

    def test_abbreviated_help_and_version_are_refused(self):
        for option in ("--hel", "--vers", "--v", "--h"):
            with self.subTest(option):
                self.refused(program.USE, option, asleft(option))

    def test_abbreviated_commands_are_refused(self):
        for command in ("verif", "proof", "setpoint", "rea"):
            with self.subTest(command):
                self.refused(program.USE, command, asleft(command, SHEET))

    def test_unknown_options(self):
        for command in COMMANDS:
            with self.subTest(command):
                self.refused(program.USE, "--loudly", asleft(command, "--loudly", SHEET))

    def test_option_without_its_value(self):
        for option in ("--format", "--output", "--port", "--color"):
            with self.subTest(option):
                self.refused(program.USE, option, asleft("verify", SHEET, option))

    def test_unknown_format_names_the_known_ones(self):
        result = asleft("verify", SHEET, "--format", "pdf")
        self.refused(program.USE, "pdf", result)
        for known in ("text", "json", "csv"):
            self.assertIn(known, result.err, result)

    def test_wrong_values_of_options(self):
        wrong = (("--color", "sometimes"), ("--port", "0"), ("--port", "65536"), ("--port", "12x"), ("--unit", "256"),
                 ("--unit", "-1"), ("--unit", "4.5"), ("--baud", "0"), ("--parity", "mark"), ("--stop-bits", "3"))
        for option, value in wrong:
            with self.subTest(f"{option} {value}"):
                result = asleft("verify", SHEET, option, value)
                self.refused(program.USE, option, result)
                self.assertIn(value, result.err, result)

    def test_a_line_is_serial_or_network(self):
        self.refused(program.USE, "--serial", asleft("verify", SHEET, "--serial", "/dev/null", "--host", "127.0.0.1"))

    def test_read_times(self):
        for option, value in (("--every", "1"), ("--every", "fast"), ("--every", "-1s"), ("--passes", "0"), ("--passes", "x")):
            with self.subTest(f"{option} {value}"):
                self.refused(program.USE, option, asleft("read", SHEET, option, value))

    def test_read_of_an_unknown_parameter_suggests(self):
        result = asleft("read", SHEET, "motor_curent")
        self.refused(program.USE, "motor_curent", result)
        self.assertIn("motor_current", result.err, result)

    def test_there_is_no_option_that_confirms(self):
        for command in COMMANDS:
            for option in ("--yes", "--force", "-y", "--confirm"):
                if option == "--confirm" and command in WRITING:  # a code is another matter
                    continue
                with self.subTest(f"{command} {option}"):
                    self.refused(program.USE, option, asleft(command, SHEET, option))

    def test_messages_follow_one_form(self):
        # "asleft: lower case, no full stop": what scripts and people learn to look for.
        for arguments in (("verfy",), ("verify",), ("verify", "--loudly"), ("verify", SHEET, "--format", "pdf")):
            first = asleft(*arguments).err.splitlines()[0]
            self.assertTrue(first.startswith("asleft: "), first)
            self.assertFalse(first.endswith("."), first)
            self.assertTrue(re.match(r"asleft: [^A-Z]", first), first)


if __name__ == "__main__":
    unittest.main()
