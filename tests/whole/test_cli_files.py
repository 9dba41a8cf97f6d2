#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# Commands that need no drive: proofread and setpoints, every format, and files that cannot be used.
import glob
import math
import os
import re
import unittest

import golden
import program
from program import Case, asleft, fixture


class Proofread(Case):
    def test_right_files(self):
        result = asleft("proofread", "compact.yaml", "P-7.yaml", cwd=program.FIXTURES)
        self.status(0, result)
        self.quiet(result)
        golden.check(self, "proofread-right.txt", result)

    def test_all_errors_with_their_place(self):
        result = asleft("proofread", "faulty.yaml", cwd=program.FIXTURES)
        self.status(program.FILE, result)
        said = result.out + result.err
        for place, word in (("faulty.yaml:8:", "460"), ("faulty.yaml:9:", "rated_curent"), ("faulty.yaml:10:", "60 V"),
                            ("faulty.yaml:12:", "energy_savr")):
            lines = [line for line in said.splitlines() if place in line]
            self.assertEqual(1, len(lines), f"{place}\n{result}")
            self.assertIn(word, lines[0], result)
        self.assertIn("rated_current", said, result)
        self.assertIn("energy_saver", said, result)
        golden.check(self, "proofread-faulty.txt", result)

    def test_implausible_sheet_is_status_1(self):
        result = asleft("proofread", "implausible.yaml", cwd=program.FIXTURES)
        self.status(1, result)
        golden.check(self, "proofread-implausible.txt", result)

    def test_a_file_error_wins_over_an_implausible_sheet(self):
        self.status(program.FILE, asleft("proofread", fixture("implausible.yaml"), fixture("faulty.yaml")))

    def test_formats(self):
        for name in ("json", "csv"):
            with self.subTest(name):
                result = asleft("proofread", "P-7.yaml", "implausible.yaml", "--format", name, cwd=program.FIXTURES)
                self.status(1, result)
                golden.check(self, f"proofread.{name}", result)


class Setpoints(Case):
    def test_formats(self):
        for name in ("text", "json", "csv", "html"):
            with self.subTest(name):
                result = asleft("setpoints", fixture("P-7.yaml"), "--format", name)
                self.status(0, result)
                self.quiet(result)
                golden.check(self, f"setpoints.{name}", result)

    def test_text_is_the_default(self):
        self.assertEqual(asleft("setpoints", fixture("P-7.yaml"), "--format", "text").out,
                         asleft("setpoints", fixture("P-7.yaml")).out)

    def test_json_numbers(self):
        found = {s["means"]: s for s in asleft("setpoints", fixture("P-7.yaml"), "--format", "json").json()["setpoints"]}
        self.assertEqual("asleft/setpoints/1", asleft("setpoints", fixture("P-7.yaml"), "--format", "json").json()["schema"])
        self.assertEqual(3.0, found["motor.rated_current"]["nominal"])
        self.assertEqual("A", found["motor.rated_current"]["unit"])
        self.assertEqual("nameplate", found["motor.rated_current"]["source"])

    def test_derived_figures(self):
        derived = asleft("setpoints", fixture("P-7.yaml"), "--format", "json").json()["derived"]
        self.assertEqual(4, derived["poles"])
        self.assertEqual(1800, derived["synchronous_speed_rpm"])
        self.assertAlmostEqual(55 / 1800, derived["slip"], 6)

    def test_who_computes_by_hand_gets_the_same(self):
        known = {"floor": math.floor, "sqrt": math.sqrt, "pi": math.pi}
        compared = 0
        for sheet in sorted(glob.glob(os.path.join(program.SOURCE_DIR, "maps", "sheets", "*.yaml"))):
            found = asleft("setpoints", sheet, "--format", "json").json()
            for line in found["derivation"]:
                with self.subTest(sheet, line=line):
                    sum_of = re.sub(r"(?<=\d) (W|V|Hz|rpm)\b", "", line["basis"])
                    sum_of = sum_of.replace("2 pi", "2 * pi").replace(" x ", " * ")
                    due = found["derived"][line["of"]]
                    self.assertAlmostEqual(1, eval(sum_of, {"__builtins__": {}}, known) / due, delta=0.001)
                    compared += 1
        self.assertGreater(compared, 20)

    def test_several_sheets_are_a_line_each(self):
        result = asleft("setpoints", fixture("P-7.yaml"), fixture("P-8.yaml"), "--format", "json")
        self.assertEqual(["P-7", "P-8"], [program.json.loads(line)["tag"] for line in result.out.splitlines()], result)

    def test_several_sheets_share_one_csv_header(self):
        one = asleft("setpoints", fixture("P-7.yaml"), "--format", "csv").out
        two = asleft("setpoints", fixture("P-7.yaml"), fixture("P-8.yaml"), "--format", "csv").out
        self.assertEqual(2 * (one.count("\r\n") - 1) + 1, two.count("\r\n"))

    def test_csv_is_rfc_4180(self):
        out = asleft("setpoints", fixture("P-7.yaml"), "--format", "csv").out
        self.assertEqual(out.count("\n"), out.count("\r\n"))
        rows = list(program.csv.reader(program.io.StringIO(out, newline="")))
        self.assertEqual({len(rows[0])}, {len(row) for row in rows})


class Page(Case):
    """What `--format html` writes for each command that needs no drive."""

    def test_tags_balance(self):
        sheets = sorted(glob.glob(os.path.join(program.SOURCE_DIR, "maps", "sheets", "*.yaml")))
        for command in ("setpoints", "proofread"):
            for files in (sheets, [fixture("implausible.yaml")]):
                with self.subTest(command):
                    page = asleft(command, *files, "--format", "html").out
                    self.balanced(page)
                    self.assertEqual(len(files), page.count("<article "), page)

    def test_a_page_in_a_file_is_whole(self):
        path = os.path.join(self.folder, "page.html")
        self.status(0, asleft("setpoints", fixture("P-7.yaml"), "--format", "html", "--output", path))
        with open(path, encoding="utf-8") as stream:
            page = stream.read()
        self.balanced(page)

    def test_text_of_a_sheet_is_no_markup(self):
        path = os.path.join(self.folder, "hostile.yaml")
        with open(fixture("P-7.yaml"), encoding="utf-8") as stream:
            sheet = stream.read()
        sheet = sheet.replace("Test bench pump", "<script>alert(1)</script>").replace("compact.yaml",
                                                                                       fixture("compact.yaml"))
        with open(path, "w", encoding="utf-8") as stream:
            stream.write(sheet)
        page = asleft("setpoints", path, "--format", "html").out
        self.balanced(page)
        self.assertNotIn("<script", page)
        self.assertIn("&lt;script&gt;alert(1)&lt;/script&gt;", page)


class UnusableFiles(Case):
    COMMANDS = ("proofread", "setpoints", "read", "verify")

    def each(self, path, text):
        for command in self.COMMANDS:
            with self.subTest(command):
                result = asleft(command, path)
                self.status(program.FILE, result)
                self.assertIn(text, result.out + result.err, result)

    def test_missing(self):
        self.each(os.path.join(self.folder, "absent.yaml"), "absent.yaml")

    def test_folder(self):
        self.each(self.folder, self.folder)

    def test_empty(self):
        self.each(self.write("empty.yaml", ""), "empty.yaml")

    def test_no_yaml(self):
        self.each(self.write("noise.yaml", "a: [1, 2\n\tb"), "noise.yaml:2")

    def test_sheet_without_its_map(self):
        text = "tag: X\ndrive: {map: nowhere.yaml}\nline: {host: 127.0.0.1, unit: 1}\n"
        self.each(self.write("lost.yaml", text), "nowhere.yaml")

    def test_file_larger_than_4_mib(self):
        self.each(self.write("large.yaml", "tag: X\n" + "# filling\n" * 450000), "large.yaml")

    def test_a_device_does_not_block(self):
        for path in ("/dev/null", "/dev/zero"):
            self.status(program.FILE, asleft("proofread", path))

    def test_a_usable_sheet_beside_an_unusable_one(self):
        result = asleft("setpoints", fixture("faulty.yaml"), fixture("P-7.yaml"))
        self.status(program.FILE, result)


class Output(Case):
    SHEET = fixture("P-7.yaml")

    def test_file_holds_what_would_be_printed(self):
        path = os.path.join(self.folder, "report.txt")
        result = asleft("setpoints", self.SHEET, "--output", path)
        self.status(0, result)
        self.assertEqual("", result.out, result)
        with open(path, encoding="utf-8") as stream:
            self.assertEqual(asleft("setpoints", self.SHEET).out, stream.read())
        self.assertEqual(["report.txt"], os.listdir(self.folder))

    def test_spelled_with_an_equals_sign(self):
        path = os.path.join(self.folder, "report.txt")
        self.status(0, asleft("setpoints", self.SHEET, f"--output={path}"))
        self.assertTrue(os.path.exists(path))

    def test_old_file_is_replaced_whole(self):
        path = self.write("report.txt", "old " * 100000)
        before = os.stat(path).st_ino
        self.status(0, asleft("setpoints", self.SHEET, "--output", path))
        self.assertNotEqual(before, os.stat(path).st_ino, "the old file was written over instead of replaced")
        with open(path, encoding="utf-8") as stream:
            self.assertNotIn("old", stream.read())

    def test_old_file_stays_where_the_run_fails(self):
        path = self.write("report.txt", "old")
        self.status(program.FILE, asleft("setpoints", fixture("faulty.yaml"), "--output", path))
        with open(path, encoding="utf-8") as stream:
            self.assertEqual("old", stream.read())
        self.assertEqual(["report.txt"], os.listdir(self.folder))

    def test_no_such_folder(self):
        path = os.path.join(self.folder, "absent", "report.txt")
        result = asleft("setpoints", self.SHEET, "--output", path)
        self.refused(program.OUTPUT, path, result)

    def test_folder_in_the_way(self):
        self.refused(program.OUTPUT, self.folder, asleft("setpoints", self.SHEET, "--output", self.folder))

    def test_full_disk(self):
        for name in ("text", "json", "csv"):
            with self.subTest(name), open("/dev/full", "wb") as full:
                result = asleft("setpoints", self.SHEET, "--format", name, stdout=full)
                self.status(program.OUTPUT, result)
                self.assertNotEqual("", result.err, result)

    def test_help_on_a_full_disk(self):
        with open("/dev/full", "wb") as full:
            self.status(program.OUTPUT, asleft("--help", stdout=full))
            self.status(program.OUTPUT, asleft("--version", stdout=full))

    def test_closed_pipe_ends_the_run(self):
        read_end, write_end = os.pipe()
        os.close(read_end)
        try:
            result = asleft("setpoints", self.SHEET, stdout=write_end)
        finally:
            os.close(write_end)
        # Either it says so, or the signal ends it, as every other program in a pipe.
        self.assertIn(result.status, (program.OUTPUT, -program.signal.SIGPIPE), result)


class Color(Case):
    SHEET = fixture("implausible.yaml")
    ESCAPE = "\x1b["

    def run_with(self, *arguments, **variables):
        return asleft("proofread", self.SHEET, *arguments, env=program.environment(**variables)).out

    def test_none_where_there_is_no_terminal(self):
        self.assertNotIn(self.ESCAPE, self.run_with())

    def test_always(self):
        self.assertIn(self.ESCAPE, self.run_with("--color", "always"))

    def test_always_wins_over_no_color(self):
        self.assertIn(self.ESCAPE, self.run_with("--color", "always", NO_COLOR="1"))

    def test_never(self):
        self.assertNotIn(self.ESCAPE, self.run_with("--color", "never"))

    def test_colour_carries_no_meaning_alone(self):
        plain = program.re.sub(r"\x1b\[[0-9;]*m", "", self.run_with("--color", "always"))
        self.assertEqual(self.run_with("--color", "never"), plain)

    def test_machine_formats_have_none(self):
        for name in ("json", "csv"):
            self.assertNotIn(self.ESCAPE, self.run_with("--color", "always", "--format", name))

    def test_terminal_has_colour_unless_no_color(self):
        self.assertIn(self.ESCAPE, self.on_terminal(TERM="xterm"))
        self.assertNotIn(self.ESCAPE, self.on_terminal(TERM="xterm", NO_COLOR="1"))
        self.assertIn(self.ESCAPE, self.on_terminal(TERM="xterm", NO_COLOR=""))
        self.assertNotIn(self.ESCAPE, self.on_terminal(TERM="dumb"))

    def on_terminal(self, **variables):
        master, terminal = os.openpty()
        try:
            asleft("proofread", self.SHEET, env=program.environment(**variables), stdout=terminal)
            return os.read(master, 65536).decode()
        finally:
            os.close(terminal)
            os.close(master)


if __name__ == "__main__":
    unittest.main()
