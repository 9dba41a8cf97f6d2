#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# verify and read on simulated drives: complete output of each format, and the status of everything that can happen.
import fcntl
import json
import os
import re
import signal
import socket
import subprocess
import unittest

import golden
import program
from program import Case, Simulator, asleft, fixture

MAP, SHEET, OTHER = fixture("compact.yaml"), fixture("P-7.yaml"), fixture("P-8.yaml")


def right(*settings):
    """The simulator holding the sheet's values, but for these."""
    options = [word for setting in settings for word in ("--set", setting)]
    return Simulator(MAP, *options, sheet=SHEET)


class SilentServer:
    """Takes connections and requests, and never answers."""

    def __enter__(self):
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.port = self.socket.getsockname()[1]
        return self

    def __exit__(self, *_):
        self.socket.close()


def closed_port():
    """A port where nobody listens: bound, so that nobody else takes it, and never listening."""
    held = socket.socket()
    held.bind(("127.0.0.1", 0))
    return held, held.getsockname()[1]


class Verify(Case):
    def test_right_drive(self):
        with right() as sim:
            for name in ("text", "json", "csv"):
                with self.subTest(name):
                    result = asleft("verify", SHEET, "--port", sim.port, "--format", name)
                    self.status(program.AGREES, result)
                    self.quiet(result)
                    golden.check(self, f"verify-right.{name}", result)

    def test_wrong_drive(self):
        with right("motor_current=6.0 A", "start_source=network", "energy_saver=0") as sim:
            for name in ("text", "json", "csv"):
                with self.subTest(name):
                    result = asleft("verify", SHEET, "--port", sim.port, "--format", name)
                    self.status(program.DIFFERS, result)
                    self.quiet(result)
                    golden.check(self, f"verify-wrong.{name}", result)

    def test_json_of_a_wrong_drive(self):
        with right("motor_current=6.0 A", "start_source=network") as sim:
            result = asleft("verify", SHEET, "--port", sim.port, "--format", "json")
        record = result.json()
        self.assertEqual("asleft/verify/1", record["schema"])
        self.assertEqual("differs", record["verdict"])
        self.assertEqual(("P-7", 4), (record["tag"], record["unit"]))
        self.assertEqual({"motor_current", "start_source"}, set(result.findings("differs")), result)
        current = result.findings()["motor_current"]
        self.assertEqual((6.0, "A", [600], 3.0), (current["found"], current["unit"], current["raw"],
                                                   current["expected"]["nominal"]))
        source = result.findings()["start_source"]
        self.assertEqual(("network", {"one_of": ["terminals"]}), (source["found"], source["expected"]))
        for verdict, count in record["counts"].items():
            self.assertEqual(count, len(result.findings(verdict)), f"{verdict}\n{result}")

    def test_text_says_the_verdict_last(self):
        with right() as sim:
            last = asleft("verify", SHEET, "--port", sim.port).out.splitlines()[-1]
            self.assertRegex(last, r"\b\d+ agree, \d+ not checked\b")
        with right("motor_speed=1800 rpm") as sim:
            self.assertIn("differ", asleft("verify", SHEET, "--port", sim.port).out.splitlines()[-1])

    def test_text_fits_eighty_columns(self):
        with right("motor_current=6.0 A", "label=A long name here") as sim:
            for line in asleft("verify", SHEET, "--port", sim.port).out.splitlines():
                self.assertLessEqual(len(line), 80, line)

    def test_other_model_is_not_judged(self):
        with right("model_code=7") as sim:
            result = asleft("verify", SHEET, "--port", sim.port, "--format", "json")
        self.status(program.INCOMPLETE, result)
        self.assertEqual("incomplete", result.json()["verdict"], result)
        self.assertEqual({}, result.findings("differs"), result)
        self.assertEqual({}, result.findings("agrees"), result)

    def test_nothing_compared_is_incomplete(self):
        text = f"tag: BARE\ndrive: {{map: {MAP}}}\nline: {{host: 127.0.0.1, unit: 4}}\n"
        with right() as sim:
            result = asleft("verify", self.write("bare.yaml", text), "--port", sim.port, "--format", "json")
        self.status(program.INCOMPLETE, result)
        self.assertEqual("incomplete", result.json()["verdict"], result)

    def test_implausible_sheet_differs(self):
        with Simulator(MAP, sheet=fixture("implausible.yaml")) as sim:
            result = asleft("verify", fixture("implausible.yaml"), "--port", sim.port, "--format", "json")
        self.status(program.DIFFERS, result)
        self.assertTrue(result.findings("implausible"), result)
        for finding in result.findings("implausible").values():
            self.assertTrue(finding["means"].startswith("sheet."), result)

    def test_allowance_and_its_reason_show(self):
        with open(SHEET, encoding="utf-8") as stream:
            text = stream.read().replace("compact.yaml", MAP)
        text += "allow:\n  - {means: motor.rated_speed, within: 20 rpm, because: rewound in 2019}\n"
        sheet = self.write("allowed.yaml", text)
        with right("motor_speed=1755 rpm") as sim:
            self.status(program.DIFFERS, asleft("verify", SHEET, "--port", sim.port))
            result = asleft("verify", sheet, "--port", sim.port)
            self.status(program.AGREES, result)
            self.assertIn("rewound in 2019", result.out, result)
            self.assertIn("rewound in 2019", asleft("verify", sheet, "--port", sim.port, "--format", "json").out)

    def test_quiet(self):
        with right() as sim:
            result = asleft("verify", SHEET, "--port", sim.port, "--quiet")
        self.status(program.AGREES, result)
        self.quiet(result)

    def test_output_file(self):
        path = os.path.join(self.folder, "result.json")
        with right() as sim:
            result = asleft("verify", SHEET, "--port", sim.port, "--format", "json", "--output", path)
        self.status(program.AGREES, result)
        self.assertEqual("", result.out, result)
        with open(path, encoding="utf-8") as stream:
            self.assertEqual("agrees", json.load(stream)["verdict"])
        self.assertEqual(["result.json"], os.listdir(self.folder))


class Silence(Case):
    def test_refused_connection_is_69(self):
        held, port = closed_port()
        with held:
            for command in ("verify", "read"):
                with self.subTest(command):
                    result = asleft(command, SHEET, "--port", port)
                    self.status(program.CONTACT, result)
                    self.assertIn(f"127.0.0.1", result.out + result.err, result)

    def test_unknown_host_is_69(self):
        self.status(program.CONTACT, asleft("verify", SHEET, "--host", "no-such-host.invalid"))

    def test_missing_serial_port_is_69(self):
        path = os.path.join(self.folder, "ttyNONE")
        result = asleft("verify", SHEET, "--serial", path, "--baud", "19200", "--parity", "none", "--stop-bits", "2")
        self.status(program.CONTACT, result)
        self.assertIn(path, result.out + result.err, result)

    def test_a_line_that_does_not_open_says_where_to_look(self):
        held, port = closed_port()
        serial = ("--baud", "19200", "--parity", "none", "--stop-bits", "2", "--serial")
        missing = os.path.join(self.folder, "ttyNONE")
        lines = (
            (("--port", port), "refused", "Modbus TCP is switched off in the drive"),
            (("--host", "no-such-host.invalid"), "unreachable", "plant networks seldom have a name service"),
            ((*serial, missing), "unreachable", "the adapter is not plugged in"),
            ((*serial, self.folder), "unreachable", "the path is that of a file or folder"),
        )
        with held:
            for command in ("verify", "read"):
                for line, symptom, cause in lines:
                    with self.subTest(f"{command} {symptom}: {cause}"):
                        result = asleft(command, SHEET, *line)
                        self.status(program.CONTACT, result)
                        self.assertRegex(result.err, rf"\Aasleft: P-7: .*\n  1\. [^\n]*(.|\n)*{cause}", result)
                        self.assertNotIn(cause, result.out, result)  # a person is told once
                        self.assertNotIn("WHERE TO LOOK", result.out, result)
                        advice = asleft(command, SHEET, *line, "--format", "json").json()["advice"]
                        self.assertEqual([symptom], [row["symptom"] for row in advice], result)
                        self.assertTrue(any(cause in step["cause"] for step in advice[0]["steps"]), result)

    def test_a_line_that_does_not_open_is_told_once(self):
        held, port = closed_port()
        with held:
            result = asleft("read", SHEET, "label", "--port", port, "--every", "10ms", "--passes", "3")
        self.status(program.CONTACT, result)
        self.assertEqual(1, result.err.count("asleft: P-7:"), result)

    def test_drives_of_one_line_are_told_the_steps_once(self):
        held, port = closed_port()
        with held:
            result = asleft("verify", SHEET, OTHER, "--port", port)
        self.assertEqual(2, result.err.count("asleft: P-"), result)
        self.assertEqual(1, result.err.count("  1. "), result)

    def test_a_port_in_use_says_where_to_look(self):
        link = os.path.join(self.folder, "line")
        serial = ("--baud", "19200", "--parity", "none", "--stop-bits", "2", "--serial", link)
        with Simulator(MAP, "--pty", link, sheet=SHEET):
            held = os.open(link, os.O_RDWR | os.O_NOCTTY)
            try:
                fcntl.flock(held, fcntl.LOCK_EX)
                result = asleft("verify", SHEET, *serial)
            finally:
                os.close(held)
        self.status(program.BUSY, result)
        self.assertIn("  1. another run of this program", result.err, result)

    def test_silent_drive_is_2(self):
        with SilentServer() as server:
            result = asleft("verify", SHEET, "--port", server.port, "--format", "json")
        self.status(program.INCOMPLETE, result)
        self.assertEqual("incomplete", result.json()["verdict"], result)
        self.assertEqual({"no-reply"}, {f["symptom"] for f in result.findings("unread").values()}, result)
        self.assertGreater(result.json()["traffic"]["timeouts"], 0, result)

    def test_silent_drive_in_words(self):
        with SilentServer() as server:
            result = asleft("verify", SHEET, "--port", server.port)
        self.status(program.INCOMPLETE, result)
        golden.check(self, "verify-silent.txt", result)

    def test_a_drive_that_refuses_to_name_itself_says_where_to_look(self):
        with Simulator(fixture("elsewhere.yaml")) as sim:
            for name in ("verify", "read"):
                with self.subTest(name):
                    result = asleft(name, SHEET, "--port", sim.port, "--unit", "1", "--format", "json")
                    self.status(program.INCOMPLETE, result)
                    self.assertEqual(["exception-02", "other-model"], [row["symptom"] for row in result.json()["advice"]], result)
                    self.assertIn("counted from the other start", result.json()["advice"][0]["steps"][0]["cause"], result)
                    self.assertIn("model_code is not read (exception-02)", result.json()["remark"], result)

    def test_absent_unit_is_2(self):
        with right() as sim:
            self.status(program.INCOMPLETE, asleft("verify", SHEET, "--port", sim.port, "--unit", "9"))

    def test_one_wrong_and_one_silent_is_1(self):
        with right("motor_current=6.0 A") as sim:
            result = asleft("verify", OTHER, SHEET, "--port", sim.port, "--format", "json")
        self.status(program.DIFFERS, result)
        verdicts = {json.loads(line)["tag"]: json.loads(line)["verdict"] for line in result.out.splitlines()}
        self.assertEqual({"P-7": "differs", "P-8": "incomplete"}, verdicts, result)

    def test_one_right_and_one_silent_is_2(self):
        with right() as sim:
            self.status(program.INCOMPLETE, asleft("verify", SHEET, OTHER, "--port", sim.port))

    def test_an_unusable_sheet_stops_before_any_drive_is_asked(self):
        with right() as sim:
            result = asleft("verify", SHEET, fixture("faulty.yaml"), "--port", sim.port)
        self.status(program.FILE, result)


class Read(Case):
    def test_formats(self):
        with right("trim=-12.5 %", "label=PUMP 7") as sim:
            for name in ("text", "json", "csv"):
                with self.subTest(name):
                    result = asleft("read", SHEET, "--port", sim.port, "--format", name)
                    self.status(0, result)
                    self.quiet(result)
                    golden.check(self, f"read.{name}", result)

    def test_a_page_shows_what_a_drive_says_as_text(self):
        with right("label=<b>&") as sim:
            for command in ("read", "verify"):
                with self.subTest(command):
                    page = asleft(command, SHEET, "--port", sim.port, "--format", "html").out
                    self.balanced(page)
                    self.assertIn("&lt;b&gt;&amp;", page)
                    self.assertNotIn("<b>", page)

    def test_some_parameters(self):
        with right() as sim:
            result = asleft("read", SHEET, "motor_speed", "trim", "--port", sim.port, "--format", "json")
        self.status(0, result)
        self.assertEqual({"motor_speed", "trim"}, set(result.values()), result)
        self.assertEqual((1745, "rpm", [1745]), tuple(result.values()["motor_speed"][k] for k in ("value", "unit", "raw")))

    def test_types_in_json(self):
        with right("trim=-12.5 %", "label=PUMP 7") as sim:
            values = asleft("read", SHEET, "--port", sim.port, "--format", "json").values()
        self.assertEqual(-12.5, values["trim"]["value"])
        self.assertEqual("PUMP 7", values["label"]["value"])
        self.assertEqual([], values["run_state"]["value"])
        self.assertEqual("terminals", values["start_source"]["value"])

    def test_passes_are_a_line_each(self):
        with right() as sim:
            result = asleft("read", SHEET, "motor_speed", "--port", sim.port, "--format", "json", "--every", "10ms", "--passes", "3")
        self.status(0, result)
        self.assertEqual(3, len(result.out.splitlines()), result)

    def test_interrupt_ends_it_as_a_signal(self):
        with right() as sim:
            command = [program.ASLEFT, "read", SHEET, "motor_speed", "--port", sim.port, "--format", "json", "--every", "10ms"]
            with subprocess.Popen(command, env=program.environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE) as run:
                lines = program.Lines(run.stdout)
                lines.wait_for("asleft/read/1")
                lines.wait_for("asleft/read/1")
                run.send_signal(signal.SIGINT)
                status = run.wait(timeout=program.PATIENCE_S)
                while lines.next() is not None:
                    pass
        self.assertEqual(-signal.SIGINT, status)
        for line in lines.seen:
            json.loads(line)  # no half line

    def test_interrupt_leaves_a_whole_page(self):
        with right() as sim:
            command = [program.ASLEFT, "read", SHEET, "motor_speed", "--port", sim.port, "--format", "html", "--every", "10ms"]
            with subprocess.Popen(command, env=program.environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE) as run:
                lines = program.Lines(run.stdout)
                lines.wait_for("</article>")
                lines.wait_for("</article>")
                run.send_signal(signal.SIGINT)
                status = run.wait(timeout=program.PATIENCE_S)
                while lines.next() is not None:
                    pass
        self.assertEqual(-signal.SIGINT, status)
        self.balanced("".join(f"{line}\n" for line in map(str.rstrip, lines.seen)))

    def test_interrupt_while_a_drive_is_silent(self):
        with SilentServer() as server:
            command = [program.ASLEFT, "verify", SHEET, "--port", str(server.port)]
            with subprocess.Popen(command, env=program.environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE) as run:
                server.socket.settimeout(program.PATIENCE_S)
                connection, _ = server.socket.accept()
                with connection:
                    connection.recv(1)  # it asks, so it waits now
                    run.send_signal(signal.SIGTERM)
                    status = run.wait(timeout=program.PATIENCE_S)
        self.assertEqual(-signal.SIGTERM, status)

    def test_reader_that_goes_away_ends_it(self):
        with right() as sim:
            command = [program.ASLEFT, "read", SHEET, "motor_speed", "--port", sim.port, "--format", "json", "--every", "10ms"]
            with subprocess.Popen(command, env=program.environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE) as run:
                run.stdout.readline()
                run.stdout.close()
                status = run.wait(timeout=program.PATIENCE_S)
        self.assertIn(status, (program.OUTPUT, -signal.SIGPIPE))


class HostileText(Case):
    """What a drive says of itself is data: it steers no terminal and no spreadsheet."""

    def serve(self, label):
        with right(f"label={label}") as sim:
            return {name: asleft("read", SHEET, "label", "--port", sim.port, "--format", name) for name in ("text", "json", "csv")}

    def test_control_characters_reach_no_terminal(self):
        results = self.serve("a\x1b[31mb\x07c")
        for name, result in results.items():
            self.assertIsNone(re.search(r"[\x00-\x08\x0b-\x0c\x0e-\x1f\x7f]", result.out), f"{name}: {result.out!r}")
        # Escaped in the value, and whole in the words as they travelled.
        label = results["json"].values()["label"]
        self.assertEqual("a\\x1b[31mb\\x07c", label["value"])
        sent = b"".join(word.to_bytes(2, "big") for word in label["raw"])
        self.assertEqual(b"a\x1b[31mb\x07c", sent.rstrip(b"\0"))

    def test_no_cell_starts_a_formula(self):
        for label in ("=1+1", "+1+1", "-1+1", "@SUM(1)", "\t=1", "\r=1"):
            with self.subTest(repr(label)):
                cell = self.serve(label)["csv"].csv_rows()[0]["value"]
                self.assertNotIn(cell[:1], list("=+-@\t\r"), cell)

    def test_numbers_stay_numbers(self):
        with right("trim=-12.5 %") as sim:
            rows = asleft("read", SHEET, "trim", "--port", sim.port, "--format", "csv").csv_rows()
        self.assertEqual("-12.5", rows[0]["value"])

    def test_quotes_and_separators_survive(self):
        label = 'a,"b"\\c'
        results = self.serve(label)
        self.assertEqual(label, results["csv"].csv_rows()[0]["value"])
        self.assertEqual(label, results["json"].values()["label"]["value"])

    def test_sheet_text_is_data_too(self):
        with open(SHEET, encoding="utf-8") as stream:
            text = stream.read().replace("compact.yaml", MAP).replace("Test bench pump", '"=cmd \\e[2J"')
        sheet = self.write("hostile.yaml", text)
        with right() as sim:
            for name in ("text", "json"):
                self.assertNotIn("\x1b", asleft("verify", sheet, "--port", sim.port, "--format", name).out)
            for row in asleft("verify", sheet, "--port", sim.port, "--format", "csv").csv_rows():
                for cell in row.values():
                    self.assertNotIn((cell or " ")[0], "=+@", row)


if __name__ == "__main__":
    unittest.main()
