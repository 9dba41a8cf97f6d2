#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# asleft writes to and restores a Modbus slave that nobody here wrote, over TCP and RTU: it sees exactly the announced
# writes, in the announced order, once each, 32-bit values in halves and together, encoded as another encoder has them.
import itertools
import json
import os
import shlex
import unittest

from drive import program
from slave import Slave, encode

UNIT, SAVE_AT, STOPPED = 4, 0x60, 1 << 1

# name: (address, type, the raw value in the drive, that of the sheet, which half goes first)
PARAMETERS = {
    "motor_current": (0x10, "u16", 600, 300, None),
    "motor_voltage": (0x12, "u32", 230000, 460000, "low-first"),
    "motor_speed": (0x14, "u16", 1800, 1745, None),
    "maximum_frequency": (0x16, "u32", 50000, 60000, "high-first"),
    "minimum_frequency": (0x18, "u16", 50, 200, None),
    "start_source": (0x20, "u16", 0, 1, None),
    "acceleration_time": (0x22, "u32", 10000, 70000, "together"),
    "energy_saver": (0x24, "u16", 0, 1, None),
}

# longest_write and writes_with of the map: the function of a single register (MODBUS Application Protocol V1.1b3,
# sections 6.6 and 6.12)
HABITS = {"  longest_write: 2": 16, "  longest_write: 2\n  writes_with: either": 6, "  longest_write: 2\n  writes_with: multiple": 16}


class PeerWrite(program.Case):
    def serve(self, serial, word_order):
        self.log = os.path.join(self.folder, "writes")
        open(self.log, "w", encoding="ascii").close()
        registers = {("holding", 0x00): [0x5158], ("holding", 0x01): encode("text(4)", "SN-H"), ("holding", 0x05): [100],
                     ("holding", SAVE_AT): [0], ("input", 0x00): [STOPPED, 0], ("discrete", 0x01): [0, 0]}
        for address, kind, wrong, _, _ in PARAMETERS.values():
            registers["holding", address] = encode(kind, wrong, word_order)
        return Slave(registers, unit=UNIT, serial=serial, log=self.log, done_at_once=(SAVE_AT,))

    def prepare(self, slave, serial, word_order, habits):
        self.word_order, self.single = word_order, HABITS[habits]
        text = program.text_of(program.fixture("halves.yaml"))
        for old, new in (("word_order: high-first", f"word_order: {word_order}"), ("  longest_write: 2", habits)):
            self.assertIn(old, text)
            text = text.replace(old, new)
        map_path = self.write("map.yaml", text)
        line = (f"{{serial: {slave.address}, baud: 19200, parity: none, stop_bits: 2, unit: {UNIT}, alone: true}}" if serial
                else f"{{host: 127.0.0.1, port: {slave.address}, unit: {UNIT}}}")
        sheet = program.text_of(program.fixture("H-1.yaml"))
        sheet = sheet.replace("map: halves.yaml", f"map: {map_path}").replace("{host: 127.0.0.1, port: 1, unit: 4}", line)
        self.sheet = self.write("sheet.yaml", sheet)
        self.store = os.path.join(self.folder, f"{serial}{word_order}{self.single}{len(habits)}.sqlite")

    def frames(self, name, raw):
        """What another encoder makes of a value: [[function, address, values]], in the order of the map's write_words."""
        address, kind, _, _, first = PARAMETERS[name]
        words = encode(kind, raw, self.word_order)
        if len(words) == 1:
            return [[self.single, address, words]]
        if first == "together":
            return [[16, address, words]]
        halves = [[self.single, address + i, [word]] for i, word in enumerate(words)]
        return halves if first == self.word_order else halves[::-1]

    def run_on(self, *arguments):
        return program.asleft(arguments[0], self.sheet, *arguments[1:], "--store", self.store, "--format", "json")

    def writes(self):
        with open(self.log, encoding="ascii") as stream:
            return [json.loads(line) for line in stream]

    def held(self):
        result = self.run_on("read")
        self.status(0, result)
        return {name: value["raw"] for name, value in result.values().items()}

    def write_and_watch(self, wanted, *command):
        """Shows a list, confirms it, and compares the slave's own log with what was announced and is wanted."""
        shown = self.run_on(*command)
        self.status(program.DIFFERS, shown)
        announced = [change["parameter"] for change in shown.json()["changes"]]
        self.assertEqual(sorted(wanted), sorted(announced), f"\n{shown}")
        already = len(self.writes())
        words = shlex.split(shown.json()["command"])
        done = program.asleft(*words[1:], "--format", "json")
        self.status(0, done)
        self.assertEqual({"kept"}, {change["outcome"] for change in done.json()["changes"]}, f"\n{done}")
        expected = [frame for name in announced for frame in self.frames(name, wanted[name])]
        expected.append([self.single, SAVE_AT, [1]])
        self.assertEqual(expected, self.writes()[already:], f"\n{done}")
        held = self.held()
        for name, raw in wanted.items():
            self.assertEqual(encode(PARAMETERS[name][1], raw, self.word_order), held[name], f"{name}\n{done}")

    def check(self, serial, word_order, habits):
        with self.serve(serial, word_order) as slave:
            self.prepare(slave, serial, word_order, habits)
            before = self.held()
            self.write_and_watch({name: row[3] for name, row in PARAMETERS.items()}, "write")
            written = self.writes()
            self.status(0, self.run_on("verify"))
            self.status(0, self.run_on("write"))  # and there is nothing left to write
            self.assertEqual(written, self.writes())
            self.write_and_watch({name: row[2] for name, row in PARAMETERS.items()}, "restore", "before-write")
            self.assertEqual(before, self.held())

    def test_tcp(self):
        for word_order, habits in itertools.product(("high-first", "low-first"), HABITS):
            with self.subTest(f"{word_order}, {habits}"):
                self.check(False, word_order, habits)

    def test_rtu(self):
        for word_order, habits in zip(itertools.cycle(("high-first", "low-first")), HABITS):
            with self.subTest(f"{word_order}, {habits}"):
                self.check(True, word_order, habits)


if __name__ == "__main__":
    unittest.main()
