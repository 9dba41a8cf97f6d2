# SPDX-License-Identifier: MIT
# Runs asleft and asleft-sim for the tests on whole programs, and keeps what they said.
import atexit
import csv
import html.parser
import io
import json
import os
import queue
import re
import shlex
import shutil
import signal
import subprocess
import tempfile
import threading
import unittest

ASLEFT = os.environ.get("ASLEFT", "asleft")
ASLEFT_SIM = os.environ.get("ASLEFT_SIM", "asleft-sim")
SOURCE_DIR = os.environ.get("ASLEFT_SOURCE_DIR", os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__)))))
FIXTURES = os.path.join(SOURCE_DIR, "tests", "whole", "fixtures")
PATIENCE_S = 60  # how long anything may take before the test gives up on it; never waited for when all is well
SANITIZER_STATUS = 99

# Statuses that interface and manual name.
AGREES, DIFFERS, INCOMPLETE, USE, FILE, CONTACT, OUTPUT, BUSY = 0, 1, 2, 64, 65, 69, 74, 75


# Where this test program's records are kept; nobody else's are read or written.
STATE_HOME = tempfile.mkdtemp(prefix="asleft-state-")
atexit.register(shutil.rmtree, STATE_HOME, ignore_errors=True)


def environment(**changes):
    """The caller's environment without what would change output; None removes a variable."""
    env = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "CLICOLOR_FORCE", "COLUMNS")}
    env["XDG_STATE_HOME"] = STATE_HOME
    # A sanitizer's report must not pass for status 1, "differs".
    for name in ("ASAN_OPTIONS", "UBSAN_OPTIONS", "LSAN_OPTIONS"):
        env.setdefault(name, f"exitcode={SANITIZER_STATUS}")
    for name, value in changes.items():
        if value is None:
            env.pop(name, None)
        else:
            env[name] = value
    return env


class Result:
    """What one run said. A failed check shows all of it."""

    def __init__(self, command, status, out, err):
        self.command, self.status = command, status
        self.out = out.decode("utf-8", "surrogateescape")
        self.err = err.decode("utf-8", "surrogateescape")

    def __str__(self):
        return f"$ {shlex.join(self.command)}\nstatus {self.status}\nstdout:\n{self.out}\nstderr:\n{self.err}"

    def json(self):
        """The one JSON line that a single drive gives."""
        lines = self.out.splitlines()
        if len(lines) != 1:
            raise AssertionError(f"expected one line of JSON\n{self}")
        return json.loads(lines[0])

    def findings(self, verdict=None):
        """{parameter or means: finding} of a verification, all or those of one verdict."""
        return {
            f["parameter"] or f["means"]: f
            for f in self.json()["findings"]
            if verdict is None or f["verdict"] == verdict
        }

    def values(self):
        return {v["parameter"]: v for v in self.json()["values"]}

    def csv_rows(self):
        return list(csv.DictReader(io.StringIO(self.out, newline="")))


def asleft(*args, env=None, cwd=None, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE):
    command = [ASLEFT, *map(str, args)]
    run = subprocess.run(command, env=env or environment(), cwd=cwd, stdin=stdin, stdout=stdout, stderr=subprocess.PIPE,
                         timeout=PATIENCE_S)
    return Result(command, run.returncode, run.stdout or b"", run.stderr)


class Lines:
    """A stream's lines as they come, read by a thread so that waiting for one can end."""

    def __init__(self, stream):
        self.seen = []
        self._queue = queue.Queue()
        threading.Thread(target=self._read, args=(stream,), daemon=True).start()

    def _read(self, stream):
        for line in stream:
            self._queue.put(line.decode("utf-8", "replace").rstrip("\n"))
        self._queue.put(None)

    def next(self):
        """The next line, or None at the end of the stream."""
        line = self._queue.get(timeout=PATIENCE_S)
        if line is not None:
            self.seen.append(line)
        return line

    def wait_for(self, text):
        while True:
            line = self.next()
            if line is None:
                raise AssertionError(f"no line with '{text}' came; these did: {self.seen}")
            if text in line:
                return line


class Simulator:
    """asleft-sim on a port of the kernel's choice, with its keypad; use it in a with statement."""

    def __init__(self, map_path, *options, sheet=None):
        self.command = [ASLEFT_SIM, "--map", map_path]
        self.command += ["--as", sheet] if sheet else []
        self.command += [*options] if "--pty" in options else ["--tcp", "127.0.0.1:0", *options]

    def __enter__(self):
        self.process = subprocess.Popen(self.command, env=environment(), stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE)
        self.lines, self.trouble = Lines(self.process.stdout), Lines(self.process.stderr)
        try:
            words = self.lines.wait_for("ready ").split()
        except BaseException as error:
            self.process.kill()
            self.process.wait()
            while self.trouble.next() is not None:
                pass
            raise AssertionError(f"{shlex.join(self.command)} is not ready: {error}; stderr: {self.trouble.seen}") from None
        self.address = words[2]
        self.port = self.address.rsplit(":", 1)[1] if words[1] == "tcp" else None
        return self

    def key(self, line):
        """Types one line on the keypad."""
        self.process.stdin.write(line.encode() + b"\n")
        self.process.stdin.flush()

    def said(self):
        """All lines of its standard output, once it has ended."""
        return self.lines.seen

    def __exit__(self, *_):
        self.process.terminate()
        status = self.process.wait(timeout=PATIENCE_S)
        while self.lines.next() is not None:
            pass
        for stream in (self.process.stdin, self.process.stdout, self.process.stderr):
            try:
                stream.close()
            except (BrokenPipeError, ValueError):
                pass
        if status == SANITIZER_STATUS:
            raise AssertionError(f"{shlex.join(self.command)} ended with a sanitizer's report")


class Case(unittest.TestCase):
    """A test with a folder of its own and checks that show the whole run where they fail."""

    maxDiff = None

    def setUp(self):
        folder = tempfile.TemporaryDirectory(prefix="asleft-test-")
        self.addCleanup(folder.cleanup)
        self.folder = folder.name

    def write(self, name, text):
        path = os.path.join(self.folder, name)
        with open(path, "w", encoding="utf-8") as stream:
            stream.write(text)
        return path

    def status(self, expected, result):
        self.assertEqual(expected, result.status, f"\n{result}")

    def quiet(self, result):
        self.assertEqual("", result.err, f"\n{result}")

    def balanced(self, page):
        """Every element of an HTML page ends, in the right order; meta has no end."""
        under_way = []

        class Parser(html.parser.HTMLParser):
            def handle_starttag(parser, tag, attributes):
                if tag != "meta":
                    under_way.append(tag)

            def handle_endtag(parser, tag):
                self.assertEqual(under_way.pop(), tag, page)

        Parser().feed(page)
        self.assertEqual([], under_way, page)
        self.assertTrue(page.endswith("</html>\n"), page)

    def refused(self, expected_status, expected_text, result):
        """Ended with that status, said so on standard error, and put nothing on standard output."""
        self.status(expected_status, result)
        self.assertIn(expected_text, result.err, f"\n{result}")
        self.assertEqual("", result.out, f"\n{result}")


def text_of(path):
    with open(path, encoding="utf-8") as stream:
        return stream.read()


def fixture(name):
    return os.path.join(FIXTURES, name)


def interrupt(process):
    process.send_signal(signal.SIGINT)
