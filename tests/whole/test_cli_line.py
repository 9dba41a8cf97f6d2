#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# asleft on its line: another master is heard before anything is sent, and --trace shows every frame as it happens.
import os
import re
import select
import signal
import struct
import subprocess
import threading
import time
import tty
import unittest

import program
from program import Case, Simulator, asleft, fixture

MAP, SHEET = fixture("compact.yaml"), fixture("P-7.yaml")

TRACE_LINE = re.compile(r"(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z)\t(sent|reply|foreign|junk)\t((?:[0-9a-f]{2} ?)+)\t(.+)")

SERIAL_SHEET = """\
tag: P-7
drive: {{map: {map}}}
line: {{serial: {port}, baud: 19200, parity: none, stop_bits: 2, unit: 4{more}}}
"""


def rtu(unit, *pdu):
    """A frame with its CRC-16 (MODBUS over Serial Line V1.02, 6.2.2), bit by bit."""
    data = bytes((unit, *pdu))
    crc = 0xFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0xA001 if crc & 1 else 0)
    return data + struct.pack("<H", crc)


class Wire:
    """A pseudo-terminal whose other end is in the test's hand: says `chatter` again and again, and keeps what it hears."""

    def __init__(self, chatter):
        self.chatter, self.heard = chatter, b""
        self.master, self.terminal = os.openpty()
        tty.setraw(self.terminal)
        self.name = os.ttyname(self.terminal)
        self.stop = threading.Event()
        self.thread = threading.Thread(target=self.run, daemon=True)

    def run(self):
        while not self.stop.is_set():
            if self.chatter:
                os.write(self.master, self.chatter)
            if select.select([self.master], [], [], 0.05)[0]:
                self.heard += os.read(self.master, 4096)

    def __enter__(self):
        self.thread.start()
        return self

    def __exit__(self, *_):
        self.stop.set()
        self.thread.join()
        os.close(self.terminal)
        os.close(self.master)


class NotAlone(Case):
    def serial_sheet(self, wire, more=""):
        return self.write("sheet.yaml", SERIAL_SHEET.format(map=MAP, port=wire.name, more=more))

    def test_another_master_stops_it_before_anything_is_sent(self):
        for command in ("read", "verify"):
            with Wire(rtu(9, 3, 0x01, 0x00, 0x00, 0x04)) as wire:
                result = asleft(command, self.serial_sheet(wire), "--format", "json")
            self.status(program.BUSY, result)
            self.assertIn(f"another master uses {wire.name}; heard: unit 9: read holding registers, 4 from 0x0100; "
                          "nothing was sent", result.err)
            self.assertEqual(b"", wire.heard)
            self.assertEqual(0, result.json()["traffic"]["requests"])
            self.assertIn("another master uses the line", result.out)

    def test_a_line_that_is_known_to_be_ours_is_not_listened_to(self):
        with Wire(rtu(9, 3, 0x01, 0x00, 0x00, 0x04)) as wire:
            result = asleft("read", self.serial_sheet(wire, ", alone: true"), "model_code")
            self.status(program.INCOMPLETE, result)
        self.assertIn(bytes((4, 3)), wire.heard)

    def test_a_silent_line_is_listened_to_once_a_run(self):
        with Wire(b"") as wire:
            sheet = self.serial_sheet(wire)
            trace = os.path.join(self.folder, "trace")
            began = time.monotonic()
            self.status(program.INCOMPLETE, asleft("verify", sheet, sheet, "--trace", trace))
            took = time.monotonic() - began
        self.assertGreaterEqual(took, 2)
        self.assertIn(bytes((4, 3)), wire.heard)


class Trace(Case):
    def trace(self, *arguments, status=program.AGREES):
        path = os.path.join(self.folder, "trace")
        self.result = asleft(*arguments, "--trace", path)
        self.status(status, self.result)
        with open(path, encoding="utf-8") as stream:
            self.lines = stream.read().splitlines()
        self.frames = [TRACE_LINE.fullmatch(line).groups() for line in self.lines if not line.startswith("#")]
        return self.frames

    def test_every_frame_is_there_with_time_bytes_and_meaning(self):
        with Simulator(MAP, sheet=SHEET) as sim:
            frames = self.trace("read", SHEET, "model_code", "--port", sim.port, "--format", "json")
            self.assertEqual(f"# P-7: 127.0.0.1:{sim.port}", self.lines[0])
        sent = [frame for frame in frames if frame[1] == "sent"]
        replies = [frame for frame in frames if frame[1] == "reply"]
        self.assertEqual(self.result.json()["traffic"]["requests"], len(sent))
        self.assertEqual(len(sent), len(replies))
        self.assertEqual([frame[0] for frame in frames], sorted(frame[0] for frame in frames))
        request, reply = bytes.fromhex(sent[0][2]), bytes.fromhex(replies[0][2])
        self.assertEqual((4, 3), (request[6], request[7]))
        self.assertEqual(request[:2], reply[:2], "the transaction")
        address, count = struct.unpack(">HH", request[8:12])
        self.assertEqual(f"unit 4: read holding registers, {count} from 0x{address:04x}", sent[0][3])
        values = struct.unpack(f">{count}H", reply[9:])
        self.assertEqual("unit 4: read holding registers, " + " ".join(f"0x{value:04x}" for value in values), replies[0][3])

    def test_two_drives_are_told_apart(self):
        with Simulator(MAP, sheet=SHEET) as sim:
            self.trace("verify", SHEET, SHEET, "--port", sim.port, "--quiet")
        self.assertEqual(2, len([line for line in self.lines if line.startswith("# P-7: ")]))

    def test_a_trace_that_cannot_be_written_asks_nothing(self):
        with Simulator(MAP, sheet=SHEET) as sim:
            for command in ("read", "verify"):
                output = os.path.join(self.folder, "output")
                result = asleft(command, SHEET, "--port", sim.port, "--trace", self.folder, "--output", output)
                self.refused(program.OUTPUT, f"the trace {self.folder} cannot be written: Is a directory", result)
                self.assertFalse(os.path.lexists(output))

    def test_a_full_disk_is_told(self):
        with Simulator(MAP, sheet=SHEET) as sim:
            result = asleft("read", SHEET, "model_code", "--port", sim.port, "--trace", "/dev/full")
            self.status(program.OUTPUT, result)
            self.assertIn("the trace /dev/full cannot be written: No space left on device", result.err)

    def test_what_happened_is_there_after_a_kill(self):
        path = os.path.join(self.folder, "trace")
        with Simulator(MAP, sheet=SHEET) as sim:
            command = [program.ASLEFT, "read", SHEET, "--port", sim.port, "--every", "10ms", "--trace", path]
            process = subprocess.Popen(command, env=program.environment(), stdout=subprocess.PIPE,
                                       stderr=subprocess.DEVNULL)
            for _ in range(3):
                process.stdout.readline()
            process.send_signal(signal.SIGKILL)
            process.wait()
            process.stdout.close()
        with open(path, encoding="utf-8") as stream:
            text = stream.read()
        self.assertTrue(text.endswith("\n"))
        frames = [TRACE_LINE.fullmatch(line) for line in text.splitlines()[1:]]
        self.assertGreater(len(frames), 2)
        self.assertNotIn(None, frames)

    def test_a_silent_drive_shows_what_was_sent(self):
        with Wire(b"") as wire:
            sheet = self.write("sheet.yaml", SERIAL_SHEET.format(map=MAP, port=wire.name, more=", alone: true"))
            frames = self.trace("read", sheet, "model_code", status=program.INCOMPLETE)
        self.assertEqual({"sent"}, {frame[1] for frame in frames})
        self.assertEqual(b"".join(bytes.fromhex(frame[2]) for frame in frames), wire.heard)


if __name__ == "__main__":
    unittest.main()
