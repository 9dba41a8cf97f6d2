#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# asleft-sim as a user meets it: its keypad, its motor, and what it refuses, asked with frames written out here.
import csv
import os
import re
import select
import socket
import struct
import subprocess
import time
import tty
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
        return self.send(struct.pack(f">B{len(words)}H", function, *words), unit)

    def send(self, request, unit=UNIT):
        body = bytes([unit]) + request
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


class SerialMaster:
    """The same on a pseudo-terminal."""

    def __init__(self, link):
        self.line = os.open(link, os.O_RDWR | os.O_NOCTTY)
        tty.setraw(self.line)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        os.close(self.line)

    def ask(self, function, *words, unit=UNIT):
        return self.send(struct.pack(f">B{len(words)}H", function, *words), unit)

    def send(self, request, unit=UNIT):
        body = bytes([unit]) + request
        os.write(self.line, body + self.checksum(body))
        reply = self.take(5)
        if reply[1] in (3, 4):
            reply += self.take(reply[2])
        elif reply[1] < 0x80:
            reply += self.take(3)
        if self.checksum(reply[:-2]) != reply[-2:]:
            raise AssertionError(f"a reply with a wrong checksum: {reply!r}")
        return reply[1], reply[2:-2]

    @staticmethod
    def checksum(frame):
        """Source: MODBUS over Serial Line V1.02, section 6.2.2."""
        crc = 0xFFFF
        for byte in frame:
            crc ^= byte
            for _ in range(8):
                crc = crc >> 1 ^ (0xA001 if crc & 1 else 0)
        return struct.pack("<H", crc)

    def take(self, count):
        data = b""
        while len(data) < count:
            if not select.select([self.line], [], [], program.PATIENCE_S)[0]:
                raise AssertionError(f"the simulator said no more than {data!r}")
            data += os.read(self.line, count - len(data))
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


def bundled(name):
    return os.path.join(program.SOURCE_DIR, "maps", name)


class Memory(Case):
    """What a power-off leaves of what was written, by both who serve a line and on both kinds of line."""

    WIDE, COMPACT = bundled("fenbridge-wide.yaml"), bundled("quayside-compact.yaml")
    RAMP, RAMP_LASTING, SHAPE, SAVE = 130, 230, 134, 400  # as they travel; low word first

    def masters(self, map_path):
        """(simulator, master) of each way to talk to one drive."""
        for loop in ((), ("--drives", "1")):
            with self.subTest(loop=loop, line="tcp"), Simulator(map_path, "--unit", str(UNIT), *loop) as sim:
                with Master(sim.port) as master:
                    yield sim, master
            link = os.path.join(self.folder, "line")
            with self.subTest(loop=loop, line="pty"):
                with Simulator(map_path, "--unit", str(UNIT), "--pty", link, *loop) as sim, SerialMaster(link) as master:
                    yield sim, master

    def write(self, master, address, *values):
        """Function 16; returns the function of the reply."""
        return master.send(struct.pack(f">BHHB{len(values)}H", 0x10, address, len(values), 2 * len(values), *values))[0]

    def read(self, master, address):
        function, data = master.ask(3, address, 2)
        self.assertEqual(3, function)
        low, high = struct.unpack(">HH", data[1:])
        return high << 16 | low

    def power_cycle(self, sim):
        sim.key("power-cycle")
        sim.lines.wait_for("power off and on again")

    def test_unsaved_values_are_lost_and_saved_ones_are_not(self):
        for sim, master in self.masters(self.WIDE):
            self.assertEqual(0x10, self.write(master, self.SHAPE, 1500, 0))
            self.assertEqual(1500, self.read(master, self.SHAPE))
            self.power_cycle(sim)
            self.assertEqual(0, self.read(master, self.SHAPE))
            self.assertEqual(0x10, self.write(master, self.SHAPE, 1500, 0))
            self.assertEqual(0x10, self.write(master, self.SAVE, 1))
            until(lambda: master.ask(3, self.SAVE, 1)[1][1:] == b"\0\0")
            self.power_cycle(sim)
            self.assertEqual(1500, self.read(master, self.SHAPE))
            sim.key("wear")
            self.assertEqual("values put into lasting memory 1, save commands 1, writes of what was there already 0",
                             sim.lines.wait_for("lasting memory"))

    def test_a_lasting_address_needs_no_save(self):
        for sim, master in self.masters(self.WIDE):
            self.assertEqual(0x10, self.write(master, self.RAMP, 7000, 0))
            self.assertEqual(7000, self.read(master, self.RAMP))
            self.power_cycle(sim)
            self.assertEqual(10000, self.read(master, self.RAMP))
            self.assertEqual(0x10, self.write(master, self.RAMP_LASTING, 8000, 0))
            self.power_cycle(sim)
            self.assertEqual(8000, self.read(master, self.RAMP))

    def test_terminals_are_shown(self):
        for sim, master in self.masters(self.COMPACT):
            def wires():
                return master.ask(4, 0x0007, 1)[1][2], master.ask(4, 0x000A, 1)[1][2]
            self.assertEqual((0, 0), wires())
            sim.key("enable on")
            sim.lines.wait_for("enable on, stopped")
            self.assertEqual((0, 1), wires())
            sim.key("run-command on")
            sim.lines.wait_for("run command on, stopped")
            self.assertEqual((1, 1), wires())
            self.assertEqual(6, master.ask(6, 0x0120, 1)[0])  # start source: terminals
            self.assertEqual(b"\x01", master.ask(4, 0x0000, 1)[1][2:], "the motor starts")
            sim.key("enable off")
            sim.lines.wait_for("enable off, stopped")

    def test_without_power_requests_are_lost(self):
        for loop in ((), ("--drives", "1")):
            with self.subTest(loop), Simulator(MAP, *loop, sheet=SHEET) as sim, Master(sim.port) as master:
                sim.key("power-cycle 1000 s")
                sim.lines.wait_for("power off for 1000 s")
                master.socket.sendall(struct.pack(">HHHBBHH", 1, 0, 6, UNIT, 6, ACCELERATION_TIME, 99))
                sim.key("power-cycle")
                sim.lines.wait_for("power off and on again")
                master.socket.sendall(struct.pack(">HHHBBHH", 2, 0, 6, UNIT, 3, ACCELERATION_TIME, 1))
                self.assertEqual(struct.pack(">HHHBBBH", 2, 0, 5, UNIT, 3, 2, 100), master.take(11))

    def test_every_write_is_logged_at_once(self):
        for loop in ((), ("--fault", "silent@9")):
            log = os.path.join(self.folder, "writes.csv")
            with self.subTest(loop), Simulator(MAP, "--writes", log, *loop, sheet=SHEET) as sim, Master(sim.port) as master:
                self.assertEqual(6, master.ask(6, ACCELERATION_TIME, 120)[0])
                self.assertEqual(0x86, master.ask(6, 0x0000, 1)[0])
                self.assertEqual(3, master.ask(3, ACCELERATION_TIME, 1)[0])
                with open(log, encoding="ascii") as stream:
                    self.assertEqual(["unit,function,address,words,outcome,fault", "4,6,34,0078,done,",
                                      "4,6,0,0001,exception-02,"], stream.read().splitlines())

    def test_another_drive_answers_after_a_write(self):
        compact = (self.COMPACT, "--unit", str(UNIT), "--fault", "exchanged=SN-2@2")
        with Simulator(*compact) as sim, Master(sim.port) as master:
            self.assertEqual(6, master.ask(6, 0x0124, 1)[0])
            self.assertEqual(b"SIM-0001", master.ask(3, 0x0002, 5)[1][1:9])
            self.assertEqual(6, master.ask(6, 0x0124, 2)[0])
            self.assertEqual(b"SN-2\0", master.ask(3, 0x0002, 5)[1][1:6])
            self.assertEqual(b"\0\0", master.ask(3, 0x0124, 1)[1][1:])


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


    def test_keys(self):
        table = self.manual("commands.md").split("| words |")[1].split("\n\n")[0]
        with Simulator(MAP, sheet=SHEET) as sim:
            sim.key("help")
            keys = re.findall(r"[:,] ([a-z-]+)", sim.lines.wait_for("keys:"))
        self.assertEqual(keys, re.findall(r"^\| `([a-z-]+)", table, re.M))


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
                          ("--map", MAP, "--tcp", "127.0.0.1:0", "--pty", "/tmp/x"),
                          ("--map", MAP, "--tcp", "127.0.0.1:0", "--fault", "exchanged"),
                          ("--map", bundled("quayside-compact.yaml"), "--tcp", "127.0.0.1:0",
                           "--fault", "exchanged=LONGER-THAN-TEN"),
                          ("--map", bundled("saltmarsh-float.yaml"), "--tcp", "127.0.0.1:0", "--fault", "exchanged=1")):
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
