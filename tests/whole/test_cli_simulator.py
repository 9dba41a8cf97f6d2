#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# asleft-sim as a user meets it: its keypad, its motor, and what it refuses, asked with frames written out here.
import csv
import os
import re
import socket
import struct
import subprocess
import time
import unittest

import program
from program import Case, Simulator, asleft, fixture

MAP, SHEET = fixture("compact.yaml"), fixture("P-7.yaml")
UNIT = 4
MOTOR_SPEED, ACCELERATION_TIME = 0x0011, 0x0022


class Master:
    """A Modbus TCP master in a dozen lines."""

    def __init__(self, port):
        self.socket = socket.create_connection(("127.0.0.1", int(port)), timeout=program.PATIENCE_S)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.socket.close()

    def ask(self, function, *words, unit=UNIT):
        """The reply's function and data; a function above 0x80 is an exception, its data the code."""
        body = struct.pack(f">BB{len(words)}H", unit, function, *words)
        self.socket.sendall(struct.pack(">HHH", 1, 0, len(body)) + body)
        header = self.take(6)
        reply = self.take(struct.unpack(">HHH", header)[2])
        return reply[1], reply[2:]

    def take(self, count):
        data = b""
        while len(data) < count:
            more = self.socket.recv(count - len(data))
            if not more:
                raise AssertionError(f"the simulator closed the connection after {data!r}")
            data += more
        return data


def until(condition, within_s=30):
    """Asks again until it holds. What is asked is a program of its own, so this is no spinning."""
    deadline = time.monotonic() + within_s
    while time.monotonic() < deadline:
        found = condition()
        if found:
            return found
    raise AssertionError("it never came about")


class Keypad(Case):
    def state(self, sim):
        result = asleft("read", SHEET, "run_state", "output_frequency", "--port", sim.port, "--format", "json")
        values = result.values()
        return values["run_state"]["value"], values["output_frequency"]["value"]

    def test_motor_ramps_up_and_comes_to_rest(self):
        with Simulator(MAP, "--set", "acceleration_time=0.2 s", sheet=SHEET) as sim:
            self.assertEqual(([], 0), self.state(sim))
            sim.key("frequency 30")
            sim.key("start")
            until(lambda: "running" in self.state(sim)[0])
            until(lambda: self.state(sim) == (["running", "at_speed"], 30))
            sim.key("stop")
            until(lambda: self.state(sim) == ([], 0))

    def test_write_is_refused_while_running_where_the_map_says_so(self):
        with Simulator(MAP, sheet=SHEET) as sim, Master(sim.port) as master:
            self.assertEqual(6, master.ask(6, MOTOR_SPEED, 1750)[0])
            sim.key("frequency 30")
            sim.key("start")
            until(lambda: "running" in self.state(sim)[0])
            function, data = master.ask(6, MOTOR_SPEED, 1760)
            self.assertEqual(0x86, function)
            self.assertEqual(6, master.ask(6, ACCELERATION_TIME, 120)[0], "settable: always holds while running too")
            self.assertEqual((3, struct.pack(">BH", 2, 1750)), master.ask(3, MOTOR_SPEED, 1))

    def test_set_at_the_keypad(self):
        with Simulator(MAP, sheet=SHEET) as sim:
            sim.key("set motor_current=6.0 A")
            until(lambda: asleft("verify", SHEET, "--port", sim.port).status == program.DIFFERS)

    def live(self, sim):
        result = asleft("verify", SHEET, "--port", sim.port, "--format", "json")
        return [(f["verdict"], f["found"]) for f in result.json()["findings"] if f["means"] == "live.output_frequency"]

    def test_live_values_are_judged_while_it_runs(self):
        with Simulator(MAP, "--set", "acceleration_time=0.2 s", sheet=SHEET) as sim:
            self.assertEqual([], self.live(sim), "at rest there is nothing to judge")
            sim.key("frequency 30")
            sim.key("start")
            until(lambda: self.live(sim) == [("agrees", 30)])
            sim.key("set maximum_frequency=80 Hz")
            sim.key("frequency 75")
            until(lambda: self.live(sim) == [("differs", 75)])

    def test_running_motor_shows_what_its_model_expects(self):
        blower_map = os.path.join(program.SOURCE_DIR, "maps", "saltmarsh-float.yaml")
        blower = os.path.join(program.SOURCE_DIR, "maps", "sheets", "B-221.yaml")
        with Simulator(blower_map, "--set", "acceleration_rate=100 Hz/s", sheet=blower) as sim:
            sim.key("frequency 40")
            sim.key("start")

            def live():
                command = ("verify", blower, "--host", "127.0.0.1", "--port", sim.port, "--unit", "21", "--format", "json")
                return {f["means"]: f for f in asleft(*command).json()["findings"] if f["means"]}

            until(lambda: live().get("live.output_frequency", {}).get("found") == 40)
            findings = live()
            for means, tolerance in (("live.output_current", 0.1), ("live.output_power", 0.1), ("live.speed", 3)):
                finding = findings[means]
                self.assertEqual(("unchecked", "estimate"), (finding["verdict"], finding["source"]))
                self.assertAlmostEqual(finding["expected"]["nominal"], finding["found"], delta=tolerance, msg=means)

    def test_wrong_keys_do_not_end_it(self):
        with Simulator(MAP, sheet=SHEET) as sim:
            for key in ("dance", "frequency", "frequency fast", "set", "set nothing=1", "set motor_current=", ""):
                sim.key(key)
            sim.key("set motor_current=6.0 A")
            until(lambda: asleft("verify", SHEET, "--port", sim.port).status == program.DIFFERS)

    def test_it_goes_on_when_the_keypad_is_closed(self):
        with Simulator(MAP, sheet=SHEET) as sim:
            sim.process.stdin.close()
            self.status(program.AGREES, asleft("verify", SHEET, "--port", sim.port))


class Line(Case):
    def test_registers_between_parameters_do_not_exist(self):
        with Simulator(MAP, sheet=SHEET) as sim, Master(sim.port) as master:
            self.assertEqual((0x83, b"\x02"), master.ask(3, 0x0021, 1))
            self.assertEqual((0x83, b"\x02"), master.ask(3, 0x0020, 3))
            self.assertEqual((0x84, b"\x02"), master.ask(4, 0x0100, 1))

    def test_unknown_function(self):
        with Simulator(MAP, sheet=SHEET) as sim, Master(sim.port) as master:
            self.assertEqual((0x80 | 0x41, b"\x01"), master.ask(0x41, 0, 1))

    def test_never_settable_is_not_written(self):
        with Simulator(MAP, sheet=SHEET) as sim, Master(sim.port) as master:
            self.assertEqual(0x86, master.ask(6, 0x0000, 1)[0])
            self.assertEqual((3, struct.pack(">BH", 2, 0x5143)), master.ask(3, 0x0000, 1))

    def test_two_masters_one_after_the_other(self):
        with Simulator(MAP, sheet=SHEET) as sim:
            for _ in range(2):
                with Master(sim.port) as master:
                    self.assertEqual(3, master.ask(3, MOTOR_SPEED, 1)[0])

    def test_pty(self):
        link = os.path.join(self.folder, "line")
        with Simulator(MAP, "--pty", link, sheet=SHEET) as sim:
            self.assertEqual(link, sim.address)
            arguments = ("--serial", link, "--baud", "19200", "--parity", "none", "--stop-bits", "2")
            self.status(program.AGREES, asleft("verify", SHEET, *arguments))
        self.assertFalse(os.path.lexists(link), "the link stays behind")


class Loop(Case):
    """Several drives, wire time and faults, which the simulator's own frame loop has."""

    def test_each_unit_of_a_pty_is_read(self):
        link = os.path.join(self.folder, "line")
        with Simulator(MAP, "--pty", link, "--drives", "3", "--unit", str(UNIT), sheet=SHEET) as sim:
            sim.key(f"{UNIT + 2} set motor_current=6.0 A")
            sim.lines.wait_for("motor_current")
            found = []
            for unit in range(UNIT, UNIT + 3):
                result = asleft("read", SHEET, "motor_current", "--serial", link, "--unit", unit, "--format", "json")
                found.append(result.values()["motor_current"]["value"])
        self.assertEqual([3.0, 3.0, 6.0], found)

    def test_drives_say_what_they_are(self):
        with Simulator(MAP, "--drives", "1", sheet=SHEET) as sim, Master(sim.port) as master:
            function, data = master.ask(0x11)
            self.assertEqual((0x11, UNIT), (function, data[1]))
            self.assertIn(b"asleft", data)
            function, data = master.ask(0x2B, 0x0E01)  # an object number is missing
            self.assertEqual((0xAB, b"\x03"), (function, data))

    def test_paced_read_is_logged_and_its_times_add_up(self):
        log = os.path.join(self.folder, "frames.csv")
        with Simulator(MAP, "--pace", "19200", "--turnaround", "5", "--log", log, sheet=SHEET) as sim:
            self.status(program.AGREES, asleft("verify", SHEET, "--port", sim.port))
        with open(log, encoding="ascii", newline="") as stream:
            rows = list(csv.DictReader(stream))
        self.assertTrue(rows)
        for row in rows:
            read, ideal, real = (int(row[name]) for name in ("read_us", "ideal_us", "real_us"))
            self.assertLess(read, ideal)
            self.assertLessEqual(ideal, real)
            self.assertEqual(str(UNIT), row["unit"])
            self.assertEqual("", row["fault"])
        said = [line for line in sim.said() if line.startswith("requests")]
        self.assertEqual([f"requests {len(rows)}, answered {len(rows)}, lost 0, not for us 0"], said)

    def test_a_fault_is_survived_and_counted(self):
        with Simulator(MAP, "--fault", "exception=06@2", "--fault", "late=1ms@3", "--seed", "1", sheet=SHEET) as sim:
            with Master(sim.port) as master:
                answers = [master.ask(3, MOTOR_SPEED, 1)[0] for _ in range(4)]
        self.assertEqual([3, 0x83, 3, 3], answers)
        self.assertIn("faults by seed 1: exception=06@2 1, late=1ms@3 1", sim.said())


class Manual(Case):
    """The help and the manual name the same options and the same faults."""

    def manual(self, page):
        with open(os.path.join(program.SOURCE_DIR, "docs", "manual", page), encoding="utf-8") as stream:
            return stream.read()

    def help(self):
        return subprocess.run([program.ASLEFT_SIM, "--help"], check=True, capture_output=True, text=True,
                              env=program.environment(), timeout=program.PATIENCE_S).stdout

    def test_options(self):
        tables = self.manual("commands.md").split("# The simulator")[1]
        self.assertEqual(set(re.findall(r"^  (--[a-z-]+)", self.help(), re.M)),
                         set(re.findall(r"`(--[a-z-]+)", "\n".join(re.findall(r"^\| (.*?) \|", tables, re.M)))))

    def test_faults(self):
        table = self.manual("simulator.md").split("| kind |")[1].split("\n\n")[0]
        self.assertEqual(re.findall(r"^    ([a-z-]+)", self.help(), re.M), re.findall(r"^\| `([a-z-]+)", table, re.M))


class Start(Case):
    def run_simulator(self, *arguments):
        command = [program.ASLEFT_SIM, *arguments]
        run = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, env=program.environment(),
                             timeout=program.PATIENCE_S)
        return program.Result(command, run.returncode, run.stdout, run.stderr)

    def test_wrong_use(self):
        for arguments in ((), ("--map", MAP), ("--tcp", "127.0.0.1:0"), ("--map", MAP, "--tcp", "127.0.0.1"),
                          ("--map", MAP, "--tcp", "127.0.0.1:0", "--loudly"), ("--map", MAP, "--tcp", "127.0.0.1:65536"),
                          ("--map", MAP, "--tcp", "127.0.0.1:0", "--set", "motor_curent=1"),
                          ("--map", MAP, "--tcp", "127.0.0.1:0", "--set", "motor_current=1 V"),
                          ("--map", MAP, "--tcp", "127.0.0.1:0", "--pty", "/tmp/x")):
            with self.subTest(arguments):
                result = self.run_simulator(*arguments)
                self.status(program.USE, result)
                self.assertNotEqual("", result.err, result)

    def test_files_that_cannot_be_used(self):
        for arguments in (("--map", "/absent.yaml"), ("--map", MAP, "--as", "/absent.yaml"),
                          ("--map", MAP, "--as", fixture("faulty.yaml"))):
            with self.subTest(arguments):
                self.status(program.FILE, self.run_simulator(*arguments, "--tcp", "127.0.0.1:0"))

    def test_port_that_is_taken(self):
        with socket.create_server(("127.0.0.1", 0)) as other:
            port = str(other.getsockname()[1])
            result = self.run_simulator("--map", MAP, "--tcp", f"127.0.0.1:{port}")
        self.status(program.CONTACT, result)
        self.assertIn(port, result.err, result)

    def test_factory_defaults_without_a_sheet(self):
        with Simulator(MAP) as sim:
            result = asleft("read", SHEET, "--port", sim.port, "--unit", "1", "--format", "json")
            if result.status != 0:  # it may take another unit where no sheet names one; the ready line says which
                unit = sim.lines.seen[-1].split("unit ")[1]
                result = asleft("read", SHEET, "--port", sim.port, "--unit", unit, "--format", "json")
        self.assertEqual(4.0, result.values()["motor_current"]["value"], result)
        self.assertEqual(50.0, result.values()["maximum_frequency"]["value"], result)


if __name__ == "__main__":
    unittest.main()
