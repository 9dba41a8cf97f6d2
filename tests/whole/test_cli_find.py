#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# find on simulated lines and hosts: what is found, what is told from what, the bar on a terminal, and every status.
import fcntl
import json
import os
import pty
import re
import signal
import socket
import subprocess
import time
import tty
import unittest

import program
from program import Case, Simulator, asleft, fixture

MAP, SHEET = fixture("compact.yaml"), fixture("P-7.yaml")


def frame(*body):
    """With its CRC, which is computed here and not by the program under test."""
    crc = 0xFFFF
    for byte in body:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ 0xA001 if crc & 1 else crc >> 1
    return bytes(body) + bytes((crc & 0xFF, crc >> 8))


class Line:
    """A pseudo-terminal whose other end is ours."""

    def __enter__(self):
        self.master, self.terminal = os.openpty()
        tty.setraw(self.master)
        tty.setraw(self.terminal)
        self.path = os.ttyname(self.terminal)
        return self

    def __exit__(self, *_):
        os.close(self.master)
        os.close(self.terminal)

    def sent(self):
        """What has been sent to us."""
        os.set_blocking(self.master, False)
        try:
            return os.read(self.master, 4096)
        except BlockingIOError:
            return b""


class Serial(Case):
    def line(self, *options):
        return Simulator(MAP, "--pty", os.path.join(self.folder, "line"), *options)

    def test_drive_at_its_format(self):
        with self.line("--unit", "7", "--baud", "9600", "--stop-bits", "1") as sim:
            result = asleft("find", "--serial", sim.address, "--baud", "9600", "--unit", "7")
        self.status(program.AGREES, result)
        self.quiet(result)
        self.assertIn("\nFOR THE SHEET\nline:\n", result.out, result)
        self.assertTrue(result.out.endswith("line: 1 unit found\n"), result)

    def test_lines_for_the_sheet_are_right(self):
        """Pasted into a sheet, they reach the drive."""
        with self.line("--unit", "7", "--baud", "38400", "--stop-bits", "1") as sim:
            found = asleft("find", "--serial", sim.address, "--baud", "38400", "--parity", "even", "--unit", "7")
            lines = found.out.split("FOR THE SHEET\n")[1].split("\n\n")[0]
            sheet = self.write("sheet.yaml", f"tag: X-1\ndrive: {{map: {MAP}}}\n{lines}\n")
            result = asleft("read", sheet, "model_code", "--format", "json")
        self.status(program.AGREES, result)

    def test_machine_formats(self):
        with self.line("--unit", "7", "--baud", "9600", "--stop-bits", "1") as sim:
            where = ("find", "--serial", sim.address, "--baud", "9600", "--parity", "even", "--unit", "7", "--format")
            record, rows = asleft(*where, "json").json(), asleft(*where, "csv").csv_rows()
        self.assertEqual("asleft/find/1", record["schema"])
        self.assertEqual("found", record["verdict"])
        unit = record["units"][0]
        self.assertEqual((7, 9600, "even", 1), (unit["unit"], unit["baud"], unit["parity"], unit["stop_bits"]))
        self.assertEqual("values", unit["answered"])  # to the first question; longer reads end in a gap of the map
        self.assertEqual("asleft", unit["device"]["vendor"])
        self.assertTrue(unit["device"]["server_id"])
        self.assertEqual([("7", "9600", "even", "1", "asleft")],
                         [(r["unit"], r["baud"], r["parity"], r["stop_bits"], r["device.vendor"]) for r in rows])

    def test_speed_is_searched(self):
        """Nothing at the likelier speeds, and the drive at 38400."""
        with self.line("--unit", "1", "--baud", "38400") as sim:
            began = time.monotonic()
            result = asleft("find", "--serial", sim.address, "--unit", "1", "--format", "json")
        self.status(program.AGREES, result)
        self.assertEqual(38400, result.json()["units"][0]["baud"], result)
        self.assertLess(time.monotonic() - began, 60)

    def test_exception_is_a_find(self):
        with self.line("--unit", "7", "--fault", "exception=02") as sim:
            result = asleft("find", "--serial", sim.address, "--baud", "9600", "--parity", "even", "--unit", "7",
                            "--format", "json")
        self.status(program.AGREES, result)
        self.assertEqual("exception-02", result.json()["units"][0]["answered"], result)

    def test_all_units_of_the_line(self):
        """Three drives among 247 numbers: 31 s of silence on a wire, so this one takes its time."""
        with self.line("--unit", "2", "--drives", "3", "--baud", "115200") as sim:
            result = asleft("find", "--serial", sim.address, "--baud", "115200", "--parity", "none", "--format", "json")
        self.status(program.AGREES, result)
        self.assertEqual([2, 3, 4], [u["unit"] for u in result.json()["units"]], result)

    def test_silent_line(self):
        with Line() as line:
            result = asleft("find", "--serial", line.path, "--baud", "19200", "--parity", "even", "--unit", "3")
        self.status(program.INCOMPLETE, result)
        self.assertIn("WHERE TO LOOK", result.out, result)
        self.assertIn("nothing came back", result.out, result)
        self.assertTrue(result.out.endswith("nothing on the line, at 1 format\n"), result)

    def test_only_questions_are_sent(self):
        with Line() as line:
            asleft("find", "--serial", line.path, "--baud", "19200", "--parity", "even", "--unit", "3")
            sent = line.sent()
        self.assertEqual(2 * frame(3, 3, 0, 0, 0, 1), sent)

    def test_garbage_is_something(self):
        with self.line("--unit", "7", "--fault", "corrupt") as sim:
            result = asleft("find", "--serial", sim.address, "--baud", "9600", "--parity", "even", "--unit", "7",
                            "--format", "json")
        self.status(program.INCOMPLETE, result)
        record = result.json()
        self.assertEqual("something", record["verdict"], result)
        self.assertGreater(record["signs"][0]["bytes"], 0, result)
        self.assertFalse(record["signs"][0]["unasked"], result)

    def test_another_master(self):
        with Line() as line:
            command = [program.ASLEFT, "find", "--serial", line.path, "--format", "json"]
            process = subprocess.Popen(command, env=program.environment(), stdout=subprocess.PIPE)
            # a master that asks again and again, until the program has ended
            while process.poll() is None:
                os.write(line.master, frame(9, 4, 1, 7, 0, 2))
                try:
                    process.wait(0.3)
                except subprocess.TimeoutExpired:
                    pass
            record = json.loads(process.stdout.read())
            process.stdout.close()
            self.assertEqual(b"", line.sent())
        self.assertEqual(program.BUSY, process.returncode)
        self.assertEqual("other-master", record["verdict"])
        self.assertEqual(0, record["traffic"]["requests"])

    def test_busy_port(self):
        with Line() as line, open(line.path, "rb", buffering=0) as held:
            fcntl.flock(held, fcntl.LOCK_EX)
            result = asleft("find", "--serial", line.path, "--format", "json")
        self.status(program.BUSY, result)
        self.assertEqual("busy", result.json()["verdict"], result)
        self.assertIn("in use", result.err)

    def test_missing_port(self):
        result = asleft("find", "--serial", "/dev/none", "--format", "json")
        self.status(program.CONTACT, result)
        self.assertEqual("no-contact", result.json()["verdict"])
        self.assertIn('no serial port "/dev/none"', result.err)


class Hosts(Case):
    def test_unit_of_a_host(self):
        with Simulator(MAP, sheet=SHEET) as sim:
            unit = re.search(r"unit (\d+)", " ".join(sim.said())).group(1)
            result = asleft("find", "--host", "127.0.0.1", "--port", sim.port, "--unit", unit)
        self.status(program.AGREES, result)
        self.assertIn(f"line:\n  host: 127.0.0.1\n  port: {sim.port}\n  unit: {unit}\n", result.out, result)

    def test_trace_shows_every_question(self):
        trace = os.path.join(self.folder, "trace")
        with Simulator(MAP, sheet=SHEET) as sim:
            unit = re.search(r"unit (\d+)", " ".join(sim.said())).group(1)
            self.status(program.AGREES, asleft("find", "--host", "127.0.0.1", "--port", sim.port, "--unit", unit, "--trace", trace))
        with open(trace, encoding="utf-8") as file:
            lines = file.read().splitlines()
        self.assertEqual(f"# find: 127.0.0.1:{sim.port}", lines[0])
        self.assertIn(f"\tunit {unit}: read holding registers, 1 from 0x0000", lines[1])
        self.assertEqual({"sent", "reply"}, {line.split("\t")[1] for line in lines[1:]})

    def test_refused(self):
        with socket.socket() as held:
            held.bind(("127.0.0.1", 0))
            port = held.getsockname()[1]
            result = asleft("find", "--host", "127.0.0.1", "--port", port, "--format", "json")
        self.status(program.CONTACT, result)
        self.assertEqual("no-contact", result.json()["verdict"], result)
        self.assertEqual("refused", result.json()["advice"][0]["symptom"], result)

    def test_several_hosts(self):
        """More than are searched at once, and each has its own result in the order of the command line."""
        with Simulator(MAP, "--unit", "5") as sim:
            hosts = [f"127.0.0.{n}" for n in range(1, 21)]
            words = [word for host in hosts for word in ("--host", host)]
            result = asleft("find", *words, "--port", sim.port, "--unit", "5", "--format", "json")
        self.status(program.AGREES, result)
        records = [json.loads(line) for line in result.out.splitlines()]
        self.assertEqual(hosts, [r["host"] for r in records], result)
        self.assertEqual("found", records[0]["verdict"], result)
        self.assertEqual({"no-contact"}, {r["verdict"] for r in records[1:]}, result)

    def test_interrupted(self):
        """What was found so far is shown, and the signal ends the program. The bar says when there is something."""
        leader, terminal = pty.openpty()
        with Simulator(MAP, "--unit", "1") as sim:
            process = subprocess.Popen([program.ASLEFT, "find", "--host", "127.0.0.1", "--port", sim.port],
                                       env=program.environment(TERM="xterm"), stdout=subprocess.PIPE, stderr=terminal)
            bar = b""
            while b"1 found" not in bar:
                bar += os.read(leader, 4096)
            program.interrupt(process)
            said = process.communicate(timeout=program.PATIENCE_S)[0].decode()
        os.close(leader)
        os.close(terminal)
        self.assertEqual(-signal.SIGINT, process.returncode)
        self.assertIn("FOR THE SHEET", said)
        self.assertTrue(said.endswith("1 unit found (interrupted, not all was tried)\n"), said)


class Terminal(Case):
    def run_on_terminal(self, *arguments, **environment):
        """Standard error on a terminal; what came out there."""
        leader, terminal = pty.openpty()
        process = subprocess.Popen([program.ASLEFT, *arguments], env=program.environment(**environment),
                                   stdout=subprocess.DEVNULL, stderr=terminal)
        os.close(terminal)
        said = b""
        while True:
            try:
                piece = os.read(leader, 4096)
            except OSError:
                break
            said += piece
        os.close(leader)
        process.wait(program.PATIENCE_S)
        return said.decode()

    def test_bar_is_drawn_in_place_and_erased(self):
        with Line() as line:
            said = self.run_on_terminal("find", "--serial", line.path, "--baud", "9600", "--unit", "3", TERM="xterm")
        bars = said.split("\r")
        self.assertTrue(any(re.search(r"\[#*\.*\] +\d+ %  listening at 9600 8\w\d, 0 found; at most \d s left", b)
                            for b in bars), said)
        self.assertNotIn("\n", said)
        self.assertTrue(said.endswith("\r\x1b[K"), repr(said[-80:]))
        self.assertLess(len(bars), 80)  # ten a second at most, and the search takes 4 s

    def test_no_bar_on_a_terminal_that_cannot_erase(self):
        with Line() as line:
            said = self.run_on_terminal("find", "--serial", line.path, "--baud", "9600", "--parity", "odd", "--unit",
                                        "3", TERM="dumb")
        self.assertEqual("", said)


class Use(Case):
    def test_wrong_use(self):
        for arguments, text in (
            ((), "give --serial PORT or --host HOST"),
            (("--serial", "/dev/x", "--host", "h"), "exclude each other"),
            (("--serial", "/dev/x", "--port", "502"), "--port goes with --host"),
            (("--host", "h", "--baud", "9600"), "go with --serial"),
            (("--serial", "/dev/x", "--unit", "248"), "1 to 247"),
            (("--serial", "/dev/x", "--unit", "0"), "1 to 247"),
            (("--serial", "/dev/x", "sheet.yaml"), "find takes no file"),
            (("--serial", "/dev/x", "--serial", "/dev/y"), "given twice"),
        ):
            with self.subTest(arguments):
                self.refused(program.USE, text, asleft("find", *arguments))

    def test_help_warns_of_network_watchdogs(self):
        result = asleft("find", "--help")
        self.status(program.AGREES, result)
        self.assertIn("network watchdog", result.out)

    def test_unwritable_output(self):
        with Line() as line:
            result = asleft("find", "--serial", line.path, "--baud", "9600", "--output", "/nowhere/x")
        self.refused(program.OUTPUT, "/nowhere/x", result)


if __name__ == "__main__":
    unittest.main()
