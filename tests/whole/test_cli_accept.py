#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# accept: the document to hand over, in every format and with every exit status; and whether one is still what it was.
import html
import json
import os
import re
import tempfile
import unittest

import golden
import program
import witnessing
from program import Case, Simulator, asleft, text_of
from test_cli_formats import Formats
from test_cli_line import Wire, rtu

CHECKS = ("rotation", "emergency stop, both doors", "safe torque off", "restart after power return", "loss of signal",
          "clamp-meter current", "insulation", "tachometer")
BY_HAND = "by_hand:\n" + "".join(f"  - {{check: '{check}', found: right, by: Meyer, at: 2026-01-05}}\n" for check in CHECKS)
MARK = "asleft-document-sha256:"
RESTART = """  restart: {at: holding 0x0031, type: u16, choices: {0: never, 1: always}, means: restart.after_trip, settable: always,
    default: always}
"""


def own_files(folder):
    """The map whose runs are witnessed with a restart at which people are at stake; a sheet that leaves nothing open."""
    with open(os.path.join(folder, "map.yaml"), "w", encoding="utf-8") as stream:
        stream.write(text_of(witnessing.MAP) + RESTART)
    text = text_of(witnessing.SHEET).replace("witnessed.yaml", "map.yaml").replace("R-1", "A-1")
    sheet = os.path.join(folder, "A-1.yaml")
    with open(sheet, "w", encoding="utf-8") as stream:
        stream.write(text + "  restart.after_trip: never\n" + BY_HAND)
    return sheet


def record_as_left(sheet, *line):
    """Both records: before the power was off, and after."""
    asleft("record", sheet, "--as", "left", *line)
    return asleft("record", sheet, "--as", "left", "--after-power-cycle", *line)


class AcceptCase(Case):
    def accept(self, sim, *arguments):
        return asleft("accept", *arguments, "--port", sim.port, "--store", self.store)

    def check(self, path, *options):
        return asleft("accept", "--check", path, "--store", self.store, *options)

    def about(self, result):
        return [point["about"] for point in result.json()["open"]]


class Handed(AcceptCase, Formats):
    """One drive, recorded as found and as left, with a run that was witnessed: nothing is open."""

    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        folder = tempfile.TemporaryDirectory(prefix="asleft-test-")
        cls.addClassCleanup(folder.cleanup)
        cls.home, cls.sheet = folder.name, own_files(folder.name)
        cls.store, cls.writes = os.path.join(cls.home, "records.sqlite"), os.path.join(cls.home, "writes.log")
        cls.sim = cls.enterClassContext(Simulator(os.path.join(cls.home, "map.yaml"), "--writes", cls.writes,
                                                  "--set", "deceleration_time=4 s", sheet=cls.sheet))
        line = ("--port", cls.sim.port, "--store", cls.store)
        found = asleft("record", cls.sheet, "--as", "found", *line)
        cls.set("deceleration_time=3 s")
        left = record_as_left(cls.sheet, *line)
        with witnessing.Witness(*line, sheet=cls.sheet) as witness:
            witness.samples()
            witnessing.run_up_and_down(cls.sim)
            run = witness.result()
        for result in (found, left, run):
            assert result.status == 0, result

    @classmethod
    def set(cls, words):
        cls.sim.key(f"set {words}")
        cls.sim.lines.wait_for(words.split("=")[0])

    def other_sheet(self, old, new, tag="A-1"):
        """The sheet, changed, beside the first."""
        text = text_of(self.sheet)
        self.assertIn(old, text)
        path = os.path.join(self.folder, f"{tag}.yaml")
        with open(path, "w", encoding="utf-8") as stream:
            stream.write(text.replace(old, new).replace("map.yaml", os.path.join(self.home, "map.yaml"))
                         .replace("tag: A-1", f"tag: {tag}"))
        return path

    def tearDown(self):
        self.assertEqual("unit,function,address,words,outcome,fault\n", text_of(self.writes), "accept wrote to the drive")

    def test_nothing_is_open(self):
        result = self.accept(self.sim, self.sheet, "--format", "json")
        self.status(0, result)
        self.quiet(result)
        document = result.json()
        self.assertEqual(("agrees", []), (document["verdict"], document["open"]), result)
        self.assertEqual(["deceleration_time"], [row["parameter"] for row in document["changed"]], result)
        self.assertEqual(("4.0 s", "3.0 s"), tuple(document["changed"][0][k] for k in ("found", "left")), result)
        self.assertEqual(("found", "left", "witnessed"), tuple(document[k]["kind"] for k in ("as_found", "as_left", "run")))
        self.assertEqual(list(CHECKS), [check["check"] for check in document["by_hand"]], result)
        self.assertEqual({("right", "Meyer", "2026-01-05")},
                         {tuple(check[k] for k in ("found", "by", "at")) for check in document["by_hand"]}, result)
        self.assertIn("acceleration_time", [measure["name"] for measure in document["measures"]], result)
        self.assertEqual("SIM-0001", document["serial_number"])

    def test_a_page_is_the_default(self):
        result = self.accept(self.sim, self.sheet)
        self.status(0, result)
        self.balanced(result.out)
        self.assertIn("nothing is open", result.out)
        self.assertIn("connected for this", result.out)
        self.assertIn('role="img"', result.out)
        self.assertEqual(1, result.out.count(MARK), result)

    def test_text(self):
        result = self.accept(self.sim, self.sheet, "--format", "text")
        self.status(0, result)
        self.assertEqual("A-1 agrees: nothing is open", result.out.splitlines()[-1], result)
        for heading in ("AS FOUND, AND AS LEFT", "WITNESSED RUN", "CHECKED BY HAND", "CAUTION", "SIGNED"):
            self.assertIn(heading, result.out)
        self.assertLessEqual(max(map(len, result.out.replace(MARK, "").splitlines())), 80, result)

    def test_csv_has_findings_alone(self):
        result = self.accept(self.sim, self.sheet, "--format", "csv")
        self.status(0, result)
        rows = result.csv_rows()
        self.assertEqual({"A-1"}, {row["tag"] for row in rows}, result)
        self.assertEqual({"agrees", "unchecked"}, {row["verdict"] for row in rows}, result)
        self.assertIn("restart", [row["parameter"] for row in rows], result)
        self.assertTrue(all(row["parameter"] for row in rows), result)
        self.assertNotIn(MARK, result.out)

    def test_junit(self):
        result = self.accept(self.sim, self.sheet, "--format", "junit")
        self.status(0, result)
        suite, = self.junit(result)
        self.assertEqual(("A-1", "0", "0"), tuple(suite.get(k) for k in ("name", "failures", "errors")), result)

    def test_openmetrics(self):
        result = self.accept(self.sim, self.sheet, "--format", "openmetrics")
        self.status(0, result)
        verdicts = self.metrics(result)["asleft_drive_verdict"]
        self.assertEqual(1, verdicts['tag="A-1",verdict="agrees"'], result)
        self.assertEqual(7, self.metrics(result)["asleft_findings"]['tag="A-1",verdict="agrees"'], result)

    def test_what_differs(self):
        self.addCleanup(self.set, "motor_current=3.0 A")
        self.set("motor_current=6.0 A")
        result = self.accept(self.sim, self.sheet, "--format", "json")
        self.status(program.DIFFERS, result)
        self.assertEqual("differs", result.json()["verdict"])
        self.assertEqual(["motor_current", "motor_current", "witnessed run"], self.about(result), result)
        texts = [point["text"] for point in result.json()["open"]]
        self.assertIn("holds 6.00 A, which differs", texts[0])
        self.assertEqual("was left at 3.00 A, and holds 6.00 A now", texts[1])

    def test_what_is_open(self):
        for old, new, about in (("'insulation', found: right,", "'insulation',", "insulation"),
                                ("check: 'rotation'", "check: 'rotational play'", "rotation"),
                                ("  restart.after_trip: never\n", "", "restart")):
            with self.subTest(about=about):
                result = self.accept(self.sim, self.other_sheet(old, new), "--format", "json")
                self.status(program.INCOMPLETE, result)
                self.assertEqual([about], self.about(result), result)
                self.assertEqual("incomplete", result.json()["verdict"])

    def test_a_run_of_another_job_differs(self):
        result = self.accept(self.sim, self.other_sheet("deceleration_time: 3 s", "deceleration_time: 2 s"), "--format",
                             "json")
        self.status(program.DIFFERS, result)
        self.assertIn("in the witnessed run: ", " ".join(point["text"] for point in result.json()["open"]), result)

    def test_a_document_is_known_again(self):
        page = os.path.join(self.folder, "A-1.html")
        self.status(0, self.accept(self.sim, self.sheet, "--output", page))
        known = self.check(page)
        self.status(0, known)
        self.quiet(known)
        self.assertRegex(known.out, r"A-1\.html: whole, and known: of A-1, made \d{4}-.* by \S+ at \S+ with asleft ")
        for suffix in ("json", "text"):
            other = os.path.join(self.folder, f"A-1.{suffix}")
            self.status(0, self.accept(self.sim, self.sheet, "--format", suffix, "--output", other))
            self.status(0, self.check(other))

    def test_every_finding_that_is_edited_shows(self):
        page = self.accept(self.sim, self.sheet).out
        cells = [match for match in re.finditer(r"<bdi>([^<]+)</bdi>|<td[^>]*>([^<]+)<", page)]
        self.assertGreater(len(cells), 50, page)
        for match in cells:
            group = 1 if match[1] else 2
            edited = page[:match.start(group)] + "x" + page[match.start(group) + 1:]
            if edited == page:
                continue
            result = self.check(self.write("edited.html", edited))
            self.status(program.DIFFERS, result)
            self.assertIn("edited.html: ALTERED: ", result.out)
        for edited in (page + "\n", page[:-1], page.replace("agrees", "differs", 1), page.replace("\n", "\r\n")):
            self.status(program.DIFFERS, self.check(self.write("edited.html", edited)))

    def test_another_store_does_not_know_it(self):
        page = self.write("A-1.html", self.accept(self.sim, self.sheet).out)
        self.store = os.path.join(self.folder, "records.sqlite")
        for _ in range(2):
            unknown = self.check(page)
            self.status(program.INCOMPLETE, unknown)
            self.assertIn("this store does not know it", unknown.out)
            self.assertFalse(os.path.exists(self.store), "looking made a store")

    def test_what_is_no_document(self):
        page = self.accept(self.sim, self.sheet).out
        digits = re.search(MARK + "([0-9a-f]{64})", page)[1]
        for name, text in (("empty", ""), ("other", "<html></html>\n"), ("csv", "tag,verdict\nA-1,agrees\n"),
                           ("twice", page + MARK), ("cut", page[:page.index(MARK) + 40]),
                           ("shouted", page.replace(digits, digits[:-1] + "G"))):
            with self.subTest(name):
                self.refused(program.FILE, "is no document of accept: it bears no digest", self.check(self.write(name, text)))
        self.refused(program.FILE, "cannot be read", self.check(os.path.join(self.folder, "nowhere")))
        self.refused(program.USE, "one too many", self.check(self.sheet, self.sheet))

    def test_a_text_with_the_mark_of_the_seal(self):
        for mark in (MARK, MARK + 64 * "0"):
            sheet = self.other_sheet("Bench pump", f'"pump {mark}"')
            target = os.path.join(self.folder, "page.html")
            result = self.accept(self.sim, sheet, "--output", target)
            self.refused(program.FILE, "belong to the document's own digest", result)
            self.refused(program.FILE, "belong to the document's own digest", self.accept(self.sim, sheet))
            self.assertEqual(["A-1.yaml"], os.listdir(self.folder))

    def test_several_drives(self):
        second = self.other_sheet("tag: A-1", "tag: A-1", tag="A-2")
        page = os.path.join(self.folder, "both.html")
        result = self.accept(self.sim, self.sheet, second, "--output", page)
        self.status(program.INCOMPLETE, result)
        text = text_of(page)
        self.balanced(text)
        self.assertEqual(1, text.count(MARK))
        self.assertEqual(["accept-cover", "accept", "accept"], re.findall(r'<article class="([^"]+)"', text))
        links = re.findall(r'<a href="#([^"]+)">(?:<bdi>)?([^<]+)', text)
        self.assertEqual([("document-2", "A-1"), ("document-3", "A-2")], links)
        for target, tag in links:
            self.assertRegex(text, f'id="{target}">\n<h1><bdi>{tag}: Bench pump')
        known = self.check(page)
        self.status(0, known)
        self.assertIn("of A-1, A-2, made", known.out)
        self.status(program.DIFFERS, self.check(self.write("edited.html", text.replace("Bench pump", "Bench bump", 1))))

    def test_several_drives_for_machines(self):
        second = self.other_sheet("tag: A-1", "tag: A-1", tag="A-2")
        result = self.accept(self.sim, self.sheet, second, "--format", "json")
        self.status(program.INCOMPLETE, result)
        cover, *drives = map(json.loads, result.out.splitlines())
        self.assertEqual([("A-1", "agrees", 0), ("A-2", "incomplete", 2)],
                         [tuple(drive[k] for k in ("tag", "verdict", "open")) for drive in cover["drives"]], result)
        self.assertEqual(["record as left", "witnessed run"], [point["about"] for point in drives[1]["open"]], result)
        self.assertEqual([True, False, False], ["digest" in one for one in (cover, *drives)], result)
        self.status(0, self.check(self.write("both.json", result.out)))
        text = self.accept(self.sim, self.sheet, second, "--format", "text")
        self.assertEqual(1, text.out.count(MARK), text)
        self.status(0, self.check(self.write("both.txt", text.out)))
        suites = self.junit(self.accept(self.sim, self.sheet, second, "--format", "junit"))
        self.assertEqual(["A-1", "A-2"], [suite.get("name") for suite in suites])  # no cover
        metrics = self.metrics(self.accept(self.sim, self.sheet, second, "--format", "openmetrics"))
        self.assertEqual(2, len(metrics["asleft_drive_info"]), metrics)
        rows = self.accept(self.sim, self.sheet, second, "--format", "csv").csv_rows()
        self.assertEqual({"A-1", "A-2"}, {row["tag"] for row in rows})
        self.assertTrue(all(row["parameter"] for row in rows), rows)

    def test_hostile_texts(self):
        texts = ("</bdi></td><script>alert(1)</script>", "\\u202Eright to left", "]]>&amp;\\\"' --> %s", "long " * 800)
        for text in texts:
            sheet = self.other_sheet("found: right", f'found: "{text}"')
            with open(sheet, encoding="utf-8") as stream:
                again = stream.read().replace("Bench pump", f'"{text}"').replace("by: Meyer", f'by: "{text}"')
            self.write("A-1.yaml", again)
            meant = json.loads(f'"{text}"').rstrip()
            for name in ("html", "text", "json", "csv", "junit", "openmetrics"):
                result = self.accept(self.sim, sheet, "--format", name)
                self.status(0, result)
                self.assertIsNone(re.search(r"[\x00-\x09\x0b-\x1f\x7f]", result.out.replace("\r\n", "\n")), result)
                if name == "html":
                    self.balanced(result.out)
                    self.assertNotIn("<script", result.out)
                    self.status(0, self.check(self.write("page.html", result.out)))
                if name == "json":
                    self.assertEqual(meant, result.json()["by_hand"][0]["found"].rstrip(), result)


class Alone(AcceptCase):
    """Nothing was recorded before."""

    def setUp(self):
        super().setUp()
        self.store = os.path.join(self.folder, "records.sqlite")
        self.sheet = own_files(self.folder)
        self.map = os.path.join(self.folder, "map.yaml")

    def test_page(self):
        with Simulator(witnessing.MAP, sheet=witnessing.SHEET) as sim:
            result = self.accept(sim, witnessing.SHEET, "--format", "text")
        self.status(program.INCOMPLETE, result)
        golden.check(self, "accept.txt", result)

    def test_without_records(self):
        with Simulator(self.map, sheet=self.sheet) as sim:
            result = self.accept(sim, self.sheet, "--format", "json")
        self.status(program.INCOMPLETE, result)
        self.assertEqual(["record as left", "witnessed run"], self.about(result), result)
        self.assertEqual((None, None, None), tuple(result.json()[k] for k in ("as_found", "as_left", "run")))

    def test_a_power_cycle_is_due_after_the_record(self):
        with Simulator(self.map, sheet=self.sheet) as sim:
            line = ("--port", sim.port, "--store", self.store)
            self.status(0, asleft("record", self.sheet, "--as", "left", *line))
            self.assertEqual(["power cycle", "witnessed run"], self.about(self.accept(sim, self.sheet, "--format", "json")))
            self.status(0, asleft("record", self.sheet, "--as", "left", "--after-power-cycle", *line))
            self.assertEqual(["witnessed run"], self.about(self.accept(sim, self.sheet, "--format", "json")))

    def test_a_drive_that_was_exchanged(self):
        with Simulator(self.map, sheet=self.sheet) as sim:
            self.status(0, record_as_left(self.sheet, "--port", sim.port, "--store", self.store))
        with Simulator(self.map, "--set", "serial_number=SIM-0002", sheet=self.sheet) as sim:
            result = self.accept(sim, self.sheet, "--format", "json")
        self.status(program.DIFFERS, result)
        self.assertEqual(["serial number", "witnessed run"], self.about(result), result)
        self.assertIn("SIM-0001 then, SIM-0002 now", result.json()["open"][0]["text"])

    def test_hostile_text_of_a_drive(self):
        with Simulator(self.map, "--set", "serial_number=<i>\x1b[1m&", sheet=self.sheet) as sim:
            page = self.accept(sim, self.sheet)
            line = self.accept(sim, self.sheet, "--format", "json")
        self.balanced(page.out)
        self.assertNotIn("<i>", page.out)
        self.assertNotIn("\x1b", page.out + line.out)
        self.assertIn(html.escape(line.json()["serial_number"], quote=False)[:6], page.out)

    def test_no_contact(self):
        target = os.path.join(self.folder, "page.html")
        result = asleft("accept", self.sheet, "--port", "1", "--store", self.store, "--output", target)
        self.status(program.CONTACT, result)
        self.assertIn("was not read (refused)", text_of(target))
        self.status(0, self.check(target))

    def test_no_store(self):
        with Simulator(self.map, "--drives", "1", sheet=self.sheet) as sim:
            self.refused(program.CONTACT, "map.yaml", asleft("accept", self.sheet, "--port", sim.port, "--store",
                                                             os.path.join(self.map, "records")))
        self.assertIn("requests 0,", "\n".join(sim.said()))

    def test_a_file_that_cannot_be_used(self):
        self.refused(program.FILE, "nowhere.yaml", asleft("accept", "nowhere.yaml", "--store", self.store))
        broken = self.write("broken.yaml", "tag: [\n")
        self.refused(program.FILE, "broken.yaml", asleft("accept", broken, "--store", self.store))

    def test_a_result_that_cannot_be_written(self):
        with Simulator(self.map, sheet=self.sheet) as sim:
            self.status(program.OUTPUT, self.accept(sim, self.sheet, "--output", "/dev/full"))
            self.refused(program.OUTPUT, "cannot be written", self.accept(sim, self.sheet, "--output",
                                                                         os.path.join(self.folder, "no", "page.html")))

    def test_a_line_that_is_in_use(self):
        with Wire(rtu(9, 3, 0x01, 0x00, 0x00, 0x04)) as wire:
            text = text_of(self.sheet).replace("{host: 127.0.0.1, port: 1, unit: 4}",
                                               f"{{serial: {wire.name}, baud: 19200, parity: even, unit: 4}}")
            result = asleft("accept", self.write("serial.yaml", text), "--store", self.store)
        self.status(program.BUSY, result)
        self.assertEqual(b"", wire.heard)
        self.assertIn("another master uses", result.err)


if __name__ == "__main__":
    unittest.main()
