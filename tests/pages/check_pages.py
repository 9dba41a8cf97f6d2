#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# Pages as a browser without a network, a printer and an HTML checker that nobody here wrote have them: chromium, pdftotext
# of poppler-utils, and html-validate of the npm registry.
#
# check_pages.py [FOLDER]: pages, pictures and prints stay in FOLDER (written with a slash) to be looked at. A missing tool is a failure.
import html.parser
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[:0] = [os.path.join(HERE, "..", "whole"), HERE]
import browser
import program
import witnessing
from program import asleft, text_of

# The last that runs with the Node.js of Debian 12 (18).
CHECKER = "html-validate@9.7.1"
FEWEST_ROWS = 30  # of a picture that shows something; a blank one has at most three
KEEP = sys.argv.pop() if len(sys.argv) == 2 and os.sep in sys.argv[1] else None

CHAPTERS = {"differs": "DIFFERS", "agrees": "AGREES", "unread": "NOT READ", "implausible": "THE SHEET CONTRADICTS ITSELF",
            "unchecked": "NOT CHECKED"}
AT_STAKE = ", AND PEOPLE ARE AT STAKE"  # may stand behind the last
BY_HAND = """by_hand:
  - {check: rotation, found: 'correct, seen from the drive end', by: J. Doe, at: 2026-02-03 10:12}
  - {check: insulation, found: '> 500 Mohm at 500 V', by: J. Doe, at: 2026-02-03}
"""
SCRIPT = "<script>document.body.textContent='';</script><img src=x onerror=alert(1)>]]>--></style></table>&amp;"
LONG = 3900  # a text of a sheet has at most 4096 bytes; there are five of these
RIGHT_TO_LEFT = "\u202e\u2067\u05de\u05d4 \u0627\u0644"
ELEMENTS = {"html", "head", "meta", "style", "title", "body", "article", "h1", "h2", "table", "thead", "tbody", "tr", "th", "td",
            "bdi", "p", "pre", "a", "figure", "figcaption", "ul", "li", "svg", "g", "path", "line", "polyline", "rect", "circle",
            "text", "desc", "defs", "clippath", "use", "marker", "tspan"}
LEADS_AWAY = re.compile(r"^(src|srcset|data|action|poster|background|formaction|ping|xlink:href|on.*)$")


class Parts(html.parser.HTMLParser):
    """What of a page is not of our own words, or leads out of it."""

    def __init__(self, page):
        super().__init__()
        self.wrong, self.styles, self.in_style = [], "", False
        self.feed(page)
        if re.search(r"url\s*\(|@import|https?:|//", self.styles):
            self.wrong.append("the style leads out of the page")

    def handle_starttag(self, tag, attributes):
        self.in_style = tag == "style"
        if tag not in ELEMENTS:
            self.wrong.append(f"an element of its own: <{tag}>")
        for name, value in attributes:
            value = value or ""
            if LEADS_AWAY.match(name) or (name == "href" and not value.startswith("#")):
                self.wrong.append(f"<{tag} {name}={value!r}>")
            if name != "xmlns" and re.search(r"https?:|url\s*\((?!#)", value):
                self.wrong.append(f"<{tag} {name}={value!r}>")

    def handle_data(self, data):
        if self.in_style:
            self.styles += data

    def handle_endtag(self, tag):
        self.in_style = False


def install_checker(folder):
    command = ["npm", "install", "--no-save", "--ignore-scripts", "--no-audit", "--no-fund", "--no-package-lock", "--cache", f"{folder}/cache",
               "--prefix", folder, CHECKER]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, stdin=subprocess.DEVNULL)
    if done.returncode != 0:
        raise RuntimeError(f"{' '.join(command)}: status {done.returncode}: {done.stdout}{done.stderr}")
    return ["node", os.path.join(folder, "node_modules", "html-validate", "bin", "html-validate.mjs"),
            "--config", os.path.join(HERE, "validate.json")]


class Pages(unittest.TestCase):
    """The pages are made once, of a drive with two mistakes in it and of one full of hostile text."""

    maxDiff = None

    @classmethod
    def setUpClass(cls):
        folder = tempfile.TemporaryDirectory(prefix="asleft-pages-")
        cls.addClassCleanup(folder.cleanup)
        cls.folder, cls.store = folder.name, os.path.join(folder.name, "records.sqlite")
        cls.pages, cls.said, cls.prints = {}, {}, {}
        cls.make_usual()
        cls.make_hostile()
        cls.checker = install_checker(os.path.join(folder.name, "checker"))
        if KEEP:
            cls.addClassCleanup(lambda: shutil.copytree(cls.folder, KEEP, dirs_exist_ok=True, ignore=shutil.ignore_patterns(
                "profile", "checker", "records*")))

    @classmethod
    def write(cls, name, text):
        path = os.path.join(cls.folder, name)
        with open(path, "w", encoding="utf-8") as stream:
            stream.write(text)
        return path

    @classmethod
    def ask(cls, command, sheets, *options, status):
        """The same as page and as JSON: a document a line."""
        results = []
        for name in ("html", "json"):
            result = asleft(command, *sheets, *options, "--format", name)
            if result.status != status or result.err:
                raise AssertionError(f"expected status {status}\n{result}")
            results.append(result.out)
        return results[0], [json.loads(line) for line in results[1].splitlines()]

    @classmethod
    def make(cls, name, *arguments, **keywords):
        page, cls.said[name] = cls.ask(*arguments, **keywords)
        cls.pages[name] = cls.write(f"{name}.html", page)

    @classmethod
    def make_usual(cls):
        text = text_of(witnessing.SHEET).replace("map: witnessed.yaml", f"map: {witnessing.MAP}")
        sheet = cls.write("R-1.yaml", text + BY_HAND)
        other = cls.write("R-2.yaml", text.replace("tag: R-1", "tag: R-2"))
        case = witnessing.WitnessCase()
        case.store = cls.store
        kept = ("--store", cls.store)

        def record(sim, which):
            result = asleft("record", sheet, "--port", sim.port, "--as", which, *kept)
            if result.status != 0:
                raise AssertionError(str(result))

        with case.drive("--set", "motor_current=6.0") as sim:
            record(sim, "found")
        with case.drive("--set", "motor_current=3.6", deceleration="4 s") as sim:
            case.witness(sim)
            record(sim, "left")
            at = ("--port", sim.port)
            cls.make("accept", "accept", [sheet], *at, *kept, status=program.DIFFERS)
            cls.make("several", "accept", [sheet, other], *at, *kept, status=program.DIFFERS)
            cls.make("verify", "verify", [sheet, other], *at, status=program.DIFFERS)
        cls.make("witness", "witness", [sheet], "--from", "witnessed", *kept, status=program.DIFFERS)
        cls.make("setpoints", "setpoints", [sheet], status=0)

    @classmethod
    def make_hostile(cls):
        words = json.dumps(f"{SCRIPT} {RIGHT_TO_LEFT} {'W' * LONG}")
        map_path = cls.write("hostile-map.yaml", text_of(witnessing.MAP).replace("text(4 registers)", "text(15 registers)"))
        text = text_of(witnessing.SHEET).replace("map: witnessed.yaml", f"map: {map_path}").replace(
            "service: Bench pump", f"service: {words}")
        by_hand = f"by_hand: [{{check: rotation, found: {words}, by: {words}, at: {words}}}, {{check: {words}, found: {words}}}]\n"
        sheet = cls.write("hostile.yaml", text + by_hand)
        with program.Simulator(map_path, "--set", f"serial_number=<script>\x1b[2J</td>{RIGHT_TO_LEFT[:2]}", sheet=sheet) as sim:
            cls.make("hostile", "accept", [sheet], "--port", sim.port, "--store", cls.store, status=program.DIFFERS)

    @classmethod
    def printed(cls, name, paper="A4"):
        """The path of its print on that paper, which is printed once."""
        if (name, paper) not in cls.prints:
            cls.prints[name, paper] = browser.printed(cls.folder, cls.pages[name], paper)
        return cls.prints[name, paper]

    def test_a_checker_finds_the_pages_valid(self):
        broken = self.write("broken.html", text_of(self.pages["accept"]).replace("</h1>", "</h2>"))
        self.assertNotEqual(0, self.check(broken).returncode, "the checker does not see a heading that does not end")
        for name, path in self.pages.items():
            with self.subTest(page=name):
                done = self.check(path)
                self.assertEqual(0, done.returncode, done.stdout + done.stderr)

    def check(self, path):
        return subprocess.run([*self.checker, path], capture_output=True, text=True, timeout=browser.PATIENCE_S)

    def test_nothing_leads_out_of_a_page(self):
        for name, path in self.pages.items():
            with self.subTest(page=name):
                self.assertEqual([], Parts(text_of(path)).wrong)

    def test_a_browser_without_a_network_shows_them(self):
        blank = self.write("blank.html", "<!DOCTYPE html><title>blank</title>")
        self.assertLess(browser.unlike_rows(browser.picture(self.folder, blank)), FEWEST_ROWS)
        for name, path in self.pages.items():
            with self.subTest(page=name):
                self.assertLess(FEWEST_ROWS, browser.unlike_rows(browser.picture(self.folder, path)))

    def test_they_are_printed_within_the_margins(self):
        for name in self.pages:
            for paper in browser.PAPERS if name in ("accept", "hostile") else ("A4",):
                with self.subTest(page=name, paper=paper):
                    self.assertEqual([], browser.off_paper(self.printed(name, paper), paper))

    def test_what_was_found_is_on_paper(self):
        looked_at = 0
        for name in self.pages:
            with self.subTest(page=name):
                on_paper = browser.words_of(self.printed(name))
                for document in self.said[name]:
                    if "tag" in document:
                        self.assertIn(document["tag"], on_paper)
                    looked_at += self.shows_document(on_paper, document, name == "hostile")
        self.assertLess(20, looked_at)

    def shows_document(self, on_paper, document, is_hostile):
        for row in document.get("findings", []) + document.get("measures", []):
            name = row["name"] if "name" in row else row["parameter"] or row["means"]
            self.assertTrue(any(browser.squeezed(name) in chapter for chapter in self.chapters(on_paper, row["verdict"])),
                            f"{name} is not below {CHAPTERS[row['verdict']]}\n{on_paper}")
            if row["verdict"] in ("differs", "implausible"):
                self.assertIn(browser.squeezed(row["basis"]), on_paper)
        points = document.get("open", [])
        if isinstance(points, list):
            for point in points:
                # Of hostile text, the page shows what does harm as its bytes.
                if not is_hostile or (point["about"] + point["text"]).isascii():
                    self.assertIn(browser.squeezed(point["about"]), on_paper)
                    self.assertIn(browser.squeezed(point["text"]), on_paper)
        for row in document.get("by_hand", []):
            if row["found"] and not is_hostile:
                self.assertIn(browser.squeezed(row["found"]), on_paper)
        return len(document.get("findings", []))

    def chapters(self, on_paper, verdict):
        """What stands below each heading of that verdict."""
        heading = re.escape(browser.squeezed(CHAPTERS[verdict]))
        any_heading = "|".join(re.escape(browser.squeezed(chapter)) for chapter in CHAPTERS.values())
        count = rf"(?:{re.escape(browser.squeezed(AT_STAKE))})?\(\d+\)"
        return re.findall(rf"(?<![A-Z]){heading}{count}(.*?)(?=(?<![A-Z])(?:{any_heading}){count}|$)", on_paper)

    def test_the_digest_is_on_paper(self):
        for name in ("accept", "several", "hostile"):
            with self.subTest(page=name):
                digest = re.findall(r"asleft-document-sha256:[0-9a-f]{64}", text_of(self.pages[name]))
                self.assertEqual(1, len(digest))
                self.assertIn(digest[0], browser.words_of(self.printed(name)))

    def test_the_verdict_is_on_the_first_sheet(self):
        self.assertIn("verdictdiffers:11pointsopen:", browser.words_of(self.printed("accept"), "-l", "1"))

    def test_hostile_text_is_text(self):
        on_paper = browser.words_of(self.printed("hostile"))
        self.assertIn(browser.squeezed(SCRIPT), on_paper)
        self.assertIn("W" * LONG * 5, re.sub(r"[^W]", "", on_paper))
        self.assertNotRegex(text_of(self.pages["hostile"]), "[\x00-\x08\x0b-\x1f\x7f\u202a-\u202e\u2066-\u2069]")


if __name__ == "__main__":
    unittest.main()
