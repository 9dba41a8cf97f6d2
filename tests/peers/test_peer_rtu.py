#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# asleft against a Modbus RTU slave that nobody here wrote, over a pair of pseudo-terminals.
import unittest

from drive import PeerCase


class PeerRtu(PeerCase):
    serial = True

    def test_values_high_word_first(self):
        self.check_values("high-first")

    def test_values_low_word_first(self):
        self.check_values("low-first")

    def test_right_drive_agrees(self):
        self.check_right("high-first")

    def test_wrong_values_differ_alone(self):
        self.check_differs({"motor_current": 600, "trim": 125, "maximum_frequency": 50.0, "start_source": 2})

    def test_holes_do_not_hide_what_is_beside_them(self):
        result = self.run_on("verify")
        self.assertEqual({}, result.findings("unread"), result)
        self.assertEqual(0, result.json()["traffic"]["bad_frames"], result)

    def test_absent_unit_is_silent(self):
        self.check_absent_unit()


if __name__ == "__main__":
    unittest.main()
