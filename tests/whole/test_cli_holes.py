#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# A drive that ends before the request does: what the specification asks of it, and what is read of it all the same.
import os
import socket
import struct
import unittest

import program
from program import Case, Simulator, asleft

# MODBUS Application Protocol Specification V1.1b3, section 7, exception 02: of a device with 100 registers, addressed from 0,
# a request from 96 for 4 is answered, and one from 96 for 5 is refused.
REGISTERS, FROM = 100, 96
ILLEGAL_DATA_ADDRESS = 2
UNIT = 1


def map_of(count):
    """A map of that many registers from address 0 on, each holding its own address but the first, which names the drive."""
    rows = [f"  r{at}: {{at: holding {at}, type: u16, settable: always}}" for at in range(1, count)]
    return "\n".join(
        [
            "map: hundred",
            "about: Invented for the tests; no maker's register list.",
            "modbus: {count_from: 0}",
            "identity: [{parameter: r0, equals: 0x4848}]",
            "parameters:",
            "  r0: {at: holding 0, type: u16, means: drive.model}",
            *rows,
            "",
        ]
    )


def ask(port, address, count):
    """Function 03 with a frame written out here: the reply's function and data."""
    with socket.create_connection(("127.0.0.1", int(port)), timeout=program.PATIENCE_S) as line:
        line.sendall(struct.pack(">HHHBBHH", 1, 0, 6, UNIT, 3, address, count))
        with line.makefile("rb") as stream:
            _, _, length = struct.unpack(">HHH", stream.read(6))
            reply = stream.read(length)
    return reply[1], reply[2:]


class EndOfTheDrive(Case):
    def setUp(self):
        super().setUp()
        self.drive = self.write("drive.yaml", map_of(REGISTERS))
        self.write("client.yaml", map_of(REGISTERS + 5))  # the last five are not there
        self.sheet = self.write("sheet.yaml", f"tag: H-1\ndrive: {{map: client.yaml}}\nline: {{host: 127.0.0.1, unit: {UNIT}}}\n")
        self.values = [word for at in range(1, REGISTERS) for word in ("--set", f"r{at}={at}")]

    def test_four_are_answered_and_five_refused(self):
        with Simulator(self.drive, *self.values) as sim:
            self.assertEqual((3, struct.pack(">B4H", 8, *range(FROM, REGISTERS))), ask(sim.port, FROM, 4))
            self.assertEqual((0x83, bytes([ILLEGAL_DATA_ADDRESS])), ask(sim.port, FROM, 5))

    def expect_all_read(self, result, names):
        self.status(program.INCOMPLETE, result)
        for name in names:
            at, value = int(name[1:]), result.values()[name]
            if at < REGISTERS:
                self.assertEqual((None, [at or 0x4848]), (value["symptom"], value["raw"]), f"{name}\n{result}")
            else:
                self.assertEqual(("exception-02", None), (value["symptom"], value["raw"]), f"{name}\n{result}")
        (advice,) = result.json()["advice"]
        self.assertEqual("exception-02", advice["symptom"], result)
        self.assertEqual("not in this model or firmware", advice["steps"][0]["cause"], result)

    def test_the_last_four_are_read_beside_one_that_is_not_there(self):
        names = [f"r{at}" for at in range(FROM, REGISTERS + 1)]
        with Simulator(self.drive, *self.values) as sim:
            self.expect_all_read(asleft("read", self.sheet, *names, "--port", sim.port, "--format", "json"), names)

    def test_all_hundred_are_read_beside_five_that_are_not_there(self):
        names = [f"r{at}" for at in range(REGISTERS + 5)]
        with Simulator(self.drive, *self.values) as sim:
            self.expect_all_read(asleft("read", self.sheet, "--port", sim.port, "--format", "json"), names)

    def test_the_same_on_a_serial_line(self):
        names = [f"r{at}" for at in range(REGISTERS + 5)]
        link = os.path.join(self.folder, "line")
        serial = ("--serial", link, "--baud", "115200", "--parity", "even", "--stop-bits", "1")
        with Simulator(self.drive, *self.values, "--pty", link):
            self.expect_all_read(asleft("read", self.sheet, *serial, "--format", "json"), names)


if __name__ == "__main__":
    unittest.main()
