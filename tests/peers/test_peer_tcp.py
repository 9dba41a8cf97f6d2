#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# asleft against a Modbus TCP slave that nobody here wrote: values, verdicts, holes, other models, absent units.
import unittest

from drive import REGISTERS, PeerCase


class PeerTcp(PeerCase):
    def test_values_high_word_first(self):
        self.check_values("high-first")

    def test_values_low_word_first(self):
        self.check_values("low-first")

    def test_right_drive_agrees_high_word_first(self):
        self.check_right("high-first")

    def test_right_drive_agrees_low_word_first(self):
        self.check_right("low-first")

    def test_one_wrong_value_of_each_type_differs_alone(self):
        wrong = {"motor_current": 600, "motor_voltage": 230000, "motor_speed": 1800, "maximum_frequency": 50.0,
                 "acceleration_time": 700001, "overload": 1010, "start_source": 0, "trim": 125, "hottest": 201}
        for name, raw in wrong.items():
            with self.subTest(name):
                self.check_differs({name: raw})

    def test_wrong_32_bit_values_low_word_first(self):
        self.check_differs({"motor_voltage": 230000, "acceleration_time": 70000, "maximum_frequency": 600.0}, "low-first")

    def test_exchanged_words_are_found(self):
        # The same value with its words the other way round: 460000 = 0x000704E0 is read as 0x04E00007.
        found = self.check_differs({"motor_voltage": 0x04E00007}).findings()["motor_voltage"]
        self.assertEqual([0x04E0, 0x0007], found["raw"])
        self.assertAlmostEqual(0x04E00007 / 1000, found["found"], 3)

    def test_holes_do_not_hide_what_is_beside_them(self):
        result = self.run_on("verify")
        # The slave answers exception 02 to any block with a hole in it; all the same nothing is left unread.
        self.assertEqual({}, result.findings("unread"), result)
        self.assertEqual(0, result.json()["traffic"]["timeouts"], result)

    def test_other_model_is_not_judged(self):
        result = self.run_on("verify", changed={"model": "PEER-8"})
        self.status(2, result)
        self.assertEqual({}, result.findings("agrees"), result)
        self.assertEqual({}, result.findings("differs"), result)
        self.assertIn("other-model", {f.get("symptom") for f in result.findings().values()}, result)

    def test_not_a_number_is_null(self):
        result = self.run_on("read", "maximum_frequency", changed={"maximum_frequency": float("nan")})
        found = result.values()["maximum_frequency"]
        self.assertIsNone(found["value"], result)
        self.assertEqual("not-a-number", found["symptom"], result)

    def test_negative_and_large_values(self):
        self.assertEqual(-3276.8, self.run_on("read", "trim", changed={"trim": -32768}).values()["trim"]["value"])
        speed = self.run_on("read", "motor_speed", changed={"motor_speed": -2147483648}).values()["motor_speed"]
        self.assertEqual(-2147483648, speed["value"])
        voltage = self.run_on("read", "motor_voltage", changed={"motor_voltage": 4294967295}).values()["motor_voltage"]
        self.assertAlmostEqual(4294967.295, voltage["value"], 6)

    def test_absent_unit_is_silent(self):
        self.check_absent_unit()

    def test_every_register_has_a_test_value(self):
        self.assertEqual(set(REGISTERS), set(self.run_on("read").values()))


if __name__ == "__main__":
    unittest.main()
