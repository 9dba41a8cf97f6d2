# SPDX-License-Identifier: MIT
# An invented drive with every type of register, as a map for asleft and as words for the slave: two separate encodings.
import os
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "whole"))

import program
from slave import Slave, encode

UNIT = 4

# Holes on purpose: 0x0011-0x0013, 0x0018 and more do not exist in the slave, so a block read across them is refused.
MAP = """\
map: peer-mixture
about: Invented for the tests; every type, holes between.
modbus:
  count_from: 0
  word_order: {word_order}
  answers_within: 300 ms
identity:
  - {{parameter: model, equals: "PEER-7"}}
parameters:
  model: {{at: holding 0x0000, type: text(4 registers), means: drive.model}}
  motor_current: {{at: holding 0x0010, type: u16, scale: 0.01, unit: A, means: motor.rated_current, settable: stopped}}
  motor_voltage: {{at: holding 0x0014, type: u32, scale: 0.001, unit: V, means: motor.rated_voltage, settable: stopped}}
  motor_speed: {{at: holding 0x0016, type: s32, unit: rpm, means: motor.rated_speed, settable: stopped}}
  maximum_frequency: {{at: holding 0x0019, type: f32, unit: Hz, means: limit.maximum_frequency, settable: stopped}}
  acceleration_time: {{at: holding 0x001B, type: u32, scale: 0.1, unit: s, means: ramp.acceleration_time,
    ramp_span: limit.maximum_frequency, settable: always}}
  overload: {{at: holding 0x0020, type: u16, scale: 0.1, unit: "%", percent_of: motor.rated_current, base: sheet,
    means: motor.overload_current, overload_is: reference, settable: stopped}}
  start_source: {{at: holding 0x0021, type: u16, choices: {{0: keypad, 1: terminals, 2: network}},
    means: control.start_source, settable: stopped}}
  trim: {{at: holding 0x0030, type: s16, scale: 0.1, unit: "%", settable: always}}
  hottest: {{at: holding 0x0031, type: u16, scale: 0.5, offset: -40, unit: degC, settable: always}}
  dial: {{at: input 0x0007, type: u16, scale: 0.1, unit: Hz}}
  state: {{at: input 0x0009, type: bits, bits: {{0: running, 3: ready, 15: tripped}}, means: live.state}}
  saver: {{at: coil 0x0005, type: bool, settable: always}}
  door: {{at: discrete 0x000B, type: bool}}
"""

SHEET = """\
tag: PEER-1
drive:
  map: map.yaml
line: {line}
motor:
  rated_power: 1.5 kW
  rated_voltage: 460 V
  rated_current: 3.05 A
  connected_for: 460 V
  rated_frequency: 60 Hz
  rated_speed: 1745 rpm
settings:
  limit.maximum_frequency: 60 Hz
  ramp.acceleration_time: 70000 s
  control.start_source: terminals
  trim: -12.5 %
  hottest: 60 degC
"""

# parameter: (table, address, type, raw value in a drive set right)
REGISTERS = {
    "model": ("holding", 0x0000, "text(4)", "PEER-7"),
    "motor_current": ("holding", 0x0010, "u16", 305),
    "motor_voltage": ("holding", 0x0014, "u32", 460000),
    "motor_speed": ("holding", 0x0016, "s32", 1745),
    "maximum_frequency": ("holding", 0x0019, "f32", 60.0),
    "acceleration_time": ("holding", 0x001B, "u32", 700000),
    "overload": ("holding", 0x0020, "u16", 1000),
    "start_source": ("holding", 0x0021, "u16", 1),
    "trim": ("holding", 0x0030, "s16", -125),
    "hottest": ("holding", 0x0031, "u16", 200),
    "dial": ("input", 0x0007, "u16", 421),
    "state": ("input", 0x0009, "bits", [0, 3]),
    "saver": ("coil", 0x0005, "bool", True),
    "door": ("discrete", 0x000B, "bool", False),
}

# What asleft must then read, in engineering terms.
VALUES = {
    "model": "PEER-7",
    "motor_current": 3.05,
    "motor_voltage": 460.0,
    "motor_speed": 1745,
    "maximum_frequency": 60.0,
    "acceleration_time": 70000.0,
    "start_source": "terminals",
    "trim": -12.5,
    "hottest": 60.0,
    "dial": 42.1,
    "state": ["running", "ready"],
    "saver": True,
    "door": False,
}

JUDGED = {"motor_current", "motor_voltage", "motor_speed", "maximum_frequency", "acceleration_time", "overload",
          "start_source", "trim", "hottest"}


def words(name, raw, word_order):
    kind = REGISTERS[name][2]
    return encode(kind, raw, word_order)


class PeerCase(program.Case):
    """Serves the drive, right or with some raw values changed, and runs asleft on it. A subclass says which line."""

    serial = False

    def line(self, slave):
        if self.serial:
            return f"{{serial: {slave.address}, baud: 19200, parity: none, stop_bits: 2, unit: {UNIT}, alone: true}}"
        return f"{{host: 127.0.0.1, port: {slave.address}, unit: {UNIT}}}"

    def run_on(self, command, *arguments, changed=(), word_order="high-first", slave_unit=UNIT):
        changed = dict(changed)
        registers = {}
        for name, (table, address, _, raw) in REGISTERS.items():
            registers[table, address] = words(name, changed.get(name, raw), word_order)
        with Slave(registers, unit=slave_unit, serial=self.serial) as slave:
            self.write("map.yaml", MAP.format(word_order=word_order))
            sheet = self.write("sheet.yaml", SHEET.format(line=self.line(slave)))
            return program.asleft(command, sheet, *arguments, "--format", "json")

    def check_values(self, word_order):
        result = self.run_on("read", word_order=word_order)
        self.status(program.AGREES, result)
        read = result.values()
        for name, expected in VALUES.items():
            found = read[name]["value"]
            if isinstance(expected, float):
                self.assertAlmostEqual(expected, found, 9, f"{name}\n{result}")
            else:
                self.assertEqual(expected, found, f"{name}\n{result}")
            self.assertEqual(words(name, REGISTERS[name][3], word_order), read[name]["raw"], f"{name}\n{result}")

    def check_differs(self, changed, word_order="high-first"):
        """Exactly these differ, and everything else that the sheet speaks of agrees."""
        result = self.run_on("verify", changed=changed, word_order=word_order)
        self.status(program.DIFFERS, result)
        self.assertEqual("differs", result.json()["verdict"], result)
        self.assertEqual(set(changed), set(result.findings("differs")), result)
        self.assertEqual(JUDGED - set(changed), set(result.findings("agrees")), result)
        return result

    def check_right(self, word_order):
        result = self.run_on("verify", word_order=word_order)
        self.status(program.AGREES, result)
        self.assertEqual("agrees", result.json()["verdict"], result)
        self.assertEqual(JUDGED, set(result.findings("agrees")), result)
        self.assertEqual({}, result.findings("unread"), result)

    def check_absent_unit(self):
        result = self.run_on("verify", slave_unit=UNIT + 1)
        self.status(program.INCOMPLETE, result)
        self.assertEqual("incomplete", result.json()["verdict"], result)
        symptoms = {finding["symptom"] for finding in result.findings("unread").values()}
        self.assertEqual({"no-reply"}, symptoms, result)
