#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# JUnit XML and OpenMetrics as a user gets them: well formed, within what their readers take, in a file that is never half.
import os
import re
import tempfile
import unittest
import xml.etree.ElementTree as xml

import program
from program import Case, Simulator, asleft, fixture

MAP, SHEET = fixture("compact.yaml"), fixture("P-7.yaml")

# What both common schemas take: what one of them demands, and nothing that one of them forbids.
SUITE_ATTRIBUTES = {"id", "package", "name", "hostname", "timestamp", "tests", "failures", "errors", "time"}
CASE_ATTRIBUTES = {"classname", "name", "time"}
RESULT_ATTRIBUTES = {"failure": {"message", "type"}, "error": {"message", "type"}, "skipped": {"message"}}

SAMPLE = re.compile(r'([a-z_]+)\{([a-z_]+="(?:[^"\\\n]|\\.)*"(?:,[a-z_]+="(?:[^"\\\n]|\\.)*")*)\} (-?[0-9.e+-]+)')


class Formats(Case):
    def junit(self, result):
        """The suites of a result that keeps to the rules; fails where it does not."""
        root = xml.fromstring(result.out.encode("utf-8"))
        self.assertEqual("testsuites", root.tag, result)
        self.assertEqual({}, root.attrib, result)
        for number, suite in enumerate(root):
            self.assertEqual("testsuite", suite.tag, result)
            self.assertEqual(SUITE_ATTRIBUTES, set(suite.attrib), result)
            self.assertEqual(str(number), suite.get("id"), result)
            for name in ("package", "name", "hostname"):
                self.assertTrue(suite.get(name), result)
            self.assertRegex(suite.get("timestamp"), r"\A\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\Z", result)
            self.assertRegex(suite.get("time"), r"\A\d+(\.\d{1,3})?\Z", result)
            cases = suite.findall("testcase")
            self.assertEqual(["properties", *["testcase"] * len(cases), "system-out", "system-err"],
                             [child.tag for child in suite], result)
            for part in suite.find("properties"):
                self.assertEqual(("property", {"name", "value"}), (part.tag, set(part.attrib)), result)
            self.assertEqual(len(cases), int(suite.get("tests")), result)
            self.assertEqual(len(suite.findall("testcase/failure")), int(suite.get("failures")), result)
            self.assertEqual(len(suite.findall("testcase/error")), int(suite.get("errors")), result)
            self.assertEqual(len(cases), len({case.get("name") for case in cases}), result)
            for case in cases:
                self.assertEqual(CASE_ATTRIBUTES, set(case.attrib), result)
                self.assertLessEqual(len(case), 1, result)
                for outcome in case:
                    self.assertEqual(RESULT_ATTRIBUTES[outcome.tag], set(outcome.attrib), result)
        return list(root)

    def metrics(self, result):
        """{name: {labels: value}} of a result that keeps to the rules; fails where it does not."""
        self.assertTrue(result.out.endswith("# EOF\n"), result)
        self.assertNotIn("\r", result.out, result)
        found, name = {}, None
        for line in result.out.splitlines()[:-1]:
            if line.startswith("# HELP "):
                name = line.split()[2]
                self.assertNotIn(name, found, f"{name} stands twice\n{result}")
                found[name] = {}
            elif line.startswith("# UNIT "):
                self.assertEqual(name, line.split()[2], result)
                self.assertTrue(name.endswith("_" + line.split()[3]), result)
            elif line.startswith("# TYPE "):
                self.assertEqual(f"# TYPE {name} gauge", line, result)
            else:
                sample = SAMPLE.fullmatch(line)
                self.assertIsNotNone(sample, f"{line}\n{result}")
                self.assertEqual(name, sample[1], result)
                self.assertNotIn(sample[2], found[name], result)
                found[name][sample[2]] = float(sample[3])
        return found


class Junit(Formats):
    def test_a_drive_that_differs(self):
        with Simulator(MAP, "--set", "motor_current=6.1", sheet=SHEET) as simulator:
            result = asleft("verify", SHEET, "--port", simulator.port, "--format", "junit")
        self.status(program.DIFFERS, result)
        suite, = self.junit(result)
        self.assertEqual(("P-7", "1", "0"), (suite.get("name"), suite.get("failures"), suite.get("errors")), result)
        case, = [case for case in suite.findall("testcase") if case.find("failure") is not None]
        self.assertEqual("motor_current", case.get("name"), result)
        self.assertIn("6.10 A", case.find("failure").get("message"), result)
        self.assertTrue(suite.find("system-out").text.startswith("P-7 differs: "), result)

    def test_silent_drives_are_errors(self):
        result = asleft("verify", SHEET, SHEET, "--port", "1", "--format", "junit")
        self.status(program.CONTACT, result)
        suites = self.junit(result)
        self.assertEqual(2, len(suites), result)
        for suite in suites:
            self.assertEqual(suite.get("tests"), suite.get("errors"), result)
            self.assertEqual({"refused"}, {error.get("type") for error in suite.findall("testcase/error")}, result)

    def test_hostile_text_of_a_sheet(self):
        with tempfile.TemporaryDirectory(prefix="asleft-test-") as folder:
            sheet = os.path.join(folder, "sheet.yaml")
            with open(SHEET, encoding="utf-8") as stream:
                text = stream.read().replace("map: compact.yaml", f"map: {MAP}")
            with open(sheet, "w", encoding="utf-8") as stream:
                stream.write(text.replace("service: Test bench pump", "service: \"]]></testsuite> & \\uFFFE '\""))
            result = asleft("verify", sheet, "--port", "1", "--format", "junit")
        self.status(program.CONTACT, result)
        suite, = self.junit(result)
        service, = [part.get("value") for part in suite.find("properties") if part.get("name") == "service"]
        self.assertEqual("]]></testsuite> & \ufffd '", service, result)


class OpenMetrics(Formats):
    def test_a_drive_that_differs(self):
        with Simulator(MAP, "--set", "motor_current=6.1", sheet=SHEET) as simulator:
            result = asleft("verify", SHEET, "--port", simulator.port, "--format", "openmetrics")
        self.status(program.DIFFERS, result)
        metrics = self.metrics(result)
        self.assertEqual(1, metrics["asleft_drive_verdict"]['tag="P-7",verdict="differs"'], result)
        self.assertEqual(1, metrics["asleft_findings"]['tag="P-7",verdict="differs"'], result)
        deviating = 'tag="P-7",parameter="motor_current",means="motor.rated_current"'
        self.assertEqual({deviating: 6.1}, metrics["asleft_found_amperes"], result)
        self.assertEqual({deviating: 3.0}, metrics["asleft_expected_amperes"], result)
        self.assertGreater(metrics["asleft_last_run_timestamp_seconds"]['tag="P-7"'], 1.7e9, result)

    def test_several_drives_share_metrics(self):
        result = asleft("verify", SHEET, fixture("P-8.yaml"), "--port", "1", "--format", "openmetrics")
        self.status(program.CONTACT, result)
        metrics = self.metrics(result)
        self.assertEqual({'tag="P-7"', 'tag="P-8"'}, set(metrics["asleft_read_duration_seconds"]), result)

    def test_a_file_is_renamed_into_place(self):
        with tempfile.TemporaryDirectory(prefix="asleft-test-") as folder:
            path = os.path.join(folder, "drives.prom")
            result = asleft("verify", SHEET, "--port", "1", "--format", "openmetrics", "--output", path)
            self.status(program.CONTACT, result)
            self.assertEqual("", result.out, result)
            self.assertEqual(["drives.prom"], os.listdir(folder), result)
            with open(path, encoding="utf-8") as stream:
                result.out = stream.read()
            self.metrics(result)


class Refused(Formats):
    def test_where_there_are_no_verdicts(self):
        for command in (("proofread", SHEET), ("setpoints", SHEET), ("find",), ("read", SHEET), ("record", SHEET, "--as", "found"),
                        ("write", SHEET), ("restore", SHEET, "1234"), ("history",)):
            for name in ("junit", "openmetrics"):
                with self.subTest(command=command, format=name):
                    self.refused(program.USE, f"--format {name} is of verdicts", asleft(*command, "--format", name))


if __name__ == "__main__":
    unittest.main()
