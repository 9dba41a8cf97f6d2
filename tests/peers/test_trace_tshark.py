#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# asleft's trace against tshark, a decoder that nobody here wrote: on a capture of loopback, and on the trace's own RTU bytes.
#
# Capturing needs root (or sudo); a missing tool is a failure, so this runs in tests/run.sh --all only.
import datetime
import os
import re
import struct
import subprocess
import unittest

from drive import MAP, REGISTERS, SHEET, UNIT, program, words
from slave import Slave

FIELDS = ("mbtcp.trans_id", "mbtcp.unit_id", "mbrtu.unit_id", "mbrtu.crc16.status", "modbus.func_code", "modbus.reference_num",
          "modbus.word_cnt", "modbus.bit_cnt", "modbus.regval_uint16", "modbus.bitval", "modbus.exception_code")
AS_FIELDS = ["-T", "fields", "-E", "separator=/t", "-E", "occurrence=a", "-E", "aggregator=;"]
AS_FIELDS += [word for field in FIELDS for word in ("-e", field)]

MEANING = re.compile(r"unit (\d+): ([a-z /]+)"
                     r"(?:, (?:(\d+) from 0x([0-9a-f]{4})|bits ([01]+)|(0x[0-9a-f]{4}(?: 0x[0-9a-f]{4})*)"
                     r"|exception ([0-9a-f]{2}) (.+)))")


def value_names(field):
    """{code: name in lower case} as tshark's own tables have it."""
    names = {}
    listed = subprocess.run(["tshark", "-G", "values"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, check=True)
    for line in listed.stdout.splitlines():
        columns = line.split("\t")
        if columns[0] == "V" and columns[1] == field:
            names[int(columns[2], 0)] = columns[3].lower()
    return names


class Decoded:
    """One frame as tshark has it."""

    def __init__(self, line):
        columns = dict(zip(FIELDS, line.split("\t")))
        self.line = line
        for name, field in (("unit", "mbtcp.unit_id"), ("transaction", "mbtcp.trans_id"), ("rtu_unit", "mbrtu.unit_id"),
                            ("crc", "mbrtu.crc16.status"), ("function", "modbus.func_code"), ("address", "modbus.reference_num"),
                            ("words", "modbus.word_cnt"), ("bits", "modbus.bit_cnt"), ("exception", "modbus.exception_code")):
            text = columns.get(field, "").split(";")[0]
            setattr(self, name, int(text, 0) if text else None)
        self.registers = [int(value, 0) for value in columns.get("modbus.regval_uint16", "").split(";") if value]
        self.bit_values = [value in ("1", "True") for value in columns.get("modbus.bitval", "").split(";") if value]


class TraceCase(program.Case):
    @classmethod
    def setUpClass(cls):
        cls.functions = value_names("modbus.func_code")
        cls.exceptions = value_names("modbus.exception_code")

    def slave(self, serial):
        registers = {(table, address): words(name, raw, "high-first") for name, (table, address, _, raw) in REGISTERS.items()}
        return Slave(registers, unit=UNIT, serial=serial)

    def read(self, line):
        """Runs asleft; its frames: (time, kind, bytes, words)."""
        self.write("map.yaml", MAP.format(word_order="high-first"))
        path = os.path.join(self.folder, "trace")
        result = program.asleft("read", self.write("sheet.yaml", SHEET.format(line=line)), "--trace", path, "--format", "json")
        self.status(program.AGREES, result)
        with open(path, encoding="utf-8") as stream:
            frames = [line.rstrip("\n").split("\t") for line in stream if not line.startswith("#")]
        kinds = {frame[1] for frame in frames}
        self.assertEqual({"sent", "reply"}, kinds)
        # the drive has holes, so an exception is among them, and each table is asked for
        self.assertTrue(any("exception 02" in frame[3] for frame in frames))
        return [(frame[0], frame[1], bytes.fromhex(frame[2]), frame[3]) for frame in frames]

    def agree(self, frame, decoded):
        """What our trace says of a frame is what tshark says of it."""
        _, kind, _, meaning = frame
        where = f"\nours: {frame}\ntshark: {decoded.line}"
        unit, function, count, address, bits, registers, exception, exception_name = MEANING.fullmatch(meaning).groups()
        self.assertEqual(decoded.function & 0x7F if decoded.function else None,
                         {name: code for code, name in self.functions.items()}[function], where)
        self.assertEqual(int(unit), decoded.unit if decoded.unit is not None else decoded.rtu_unit, where)
        if kind == "sent":
            self.assertEqual(int(address, 16), decoded.address, where)
            self.assertEqual(int(count), decoded.words if decoded.words is not None else decoded.bits, where)
        elif exception is not None:
            self.assertEqual(int(exception, 16), decoded.exception, where)
            self.assertEqual(self.exceptions[int(exception, 16)], exception_name, where)
        elif registers is not None:
            self.assertEqual([int(value, 16) for value in registers.split()], decoded.registers, where)
        else:
            asked = len(decoded.bit_values)
            self.assertGreater(asked, 0, where)
            self.assertEqual(decoded.bit_values, [bit == "1" for bit in bits[:asked]], where)

    def all_agree(self, frames, decoded):
        self.assertEqual(len(frames), len(decoded), "\n".join(one.line for one in decoded))
        for frame, one in zip(frames, decoded):
            self.agree(frame, one)
        self.assertEqual({1, 2, 3, 4}, {one.function & 0x7F for one in decoded})


class Capture:
    """tshark on loopback, decoding as it captures; use it in a with statement."""

    def __init__(self, port):
        command = ["tshark", "-i", "lo", "-f", f"tcp port {port}", "-l", "-o", f"mbtcp.tcp.port:{port}", "-Y", "modbus"]
        self.command = ([] if os.geteuid() == 0 else ["sudo", "-n"]) + command + AS_FIELDS

    def __enter__(self):
        self.process = subprocess.Popen(self.command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        self.lines, self.trouble = program.Lines(self.process.stdout), program.Lines(self.process.stderr)
        self.trouble.wait_for("Capture started")
        return self

    def take(self, count):
        return [Decoded(self.lines.next()) for _ in range(count)]

    def __exit__(self, *_):
        self.process.terminate()
        self.process.wait(timeout=program.PATIENCE_S)
        self.process.stdout.close()
        self.process.stderr.close()


class OnLoopback(TraceCase):
    def test_a_capture_shows_what_the_trace_shows(self):
        with self.slave(serial=False) as slave, Capture(slave.address) as capture:
            frames = self.read(f"{{host: 127.0.0.1, port: {slave.address}, unit: {UNIT}}}")
            decoded = capture.take(len(frames))
        self.all_agree(frames, decoded)
        for frame, one in zip(frames, decoded):
            self.assertEqual(struct.unpack(">H", frame[2][:2])[0], one.transaction)


class SerialBytes(TraceCase):
    def decode(self, frames):
        """The frames as a capture of RTU over TCP, decoded with their CRC checked."""
        text = ""
        for time, kind, data, _ in frames:
            at = datetime.datetime.strptime(time, "%Y-%m-%dT%H:%M:%S.%fZ")
            text += f"{'O' if kind == 'sent' else 'I'}\n{at:%Y-%m-%d %H:%M:%S.%f}\n000000 {data.hex(' ')}\n"
        source, capture = self.write("rtu.txt", text), os.path.join(self.folder, "rtu.pcapng")
        subprocess.run(["text2pcap", "-q", "-D", "-t", "%Y-%m-%d %H:%M:%S.%f", "-T", "15022,40000", source, capture], check=True,
                       stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        shown = subprocess.run(["tshark", "-r", capture, "-o", "mbrtu.tcp.port:15022", "-o", "mbrtu.crc_verification:TRUE", "-Y",
                                "mbrtu", *AS_FIELDS], check=True, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        return [Decoded(line) for line in shown.stdout.splitlines()]

    def frames(self):
        with self.slave(serial=True) as slave:
            return self.read(f"{{serial: {slave.address}, baud: 19200, parity: none, stop_bits: 2, unit: {UNIT}, alone: true}}")

    def test_serial_frames_decode_to_what_the_trace_says(self):
        frames = self.frames()
        decoded = self.decode(frames)
        self.all_agree(frames, decoded)
        self.assertEqual({1}, {one.crc for one in decoded}, "every CRC is good")

    def test_a_flipped_bit_would_be_seen(self):
        frames = self.frames()
        time, kind, data, meaning = frames[0]
        frames[0] = (time, kind, data[:-3] + bytes((data[-3] ^ 1,)) + data[-2:], meaning)
        decoded = self.decode(frames)
        self.assertEqual(0, decoded[0].crc)
        with self.assertRaises(AssertionError):
            self.agree(frames[0], decoded[0])


if __name__ == "__main__":
    unittest.main()
