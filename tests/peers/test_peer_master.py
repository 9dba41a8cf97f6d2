#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# The simulator's own frame loop, asked by a master that nobody here wrote (pymodbus), over TCP and a pseudo-terminal.
import os
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "whole"))

import unittest

from pymodbus.client import ModbusSerialClient, ModbusTcpClient
from pymodbus.diag_message import ReturnQueryDataRequest
from pymodbus.mei_message import ReadDeviceInformationRequest
from pymodbus.other_message import ReportSlaveIdRequest

from program import Case, Simulator, fixture

MAP, SHEET = fixture("compact.yaml"), fixture("P-7.yaml")
UNITS = (4, 5)
OPTIONS = ("--unit", "4", "--drives", "2")


class PeerMaster(Case):
    def identify(self, client):
        self.assertTrue(client.connect())
        self.addCleanup(client.close)
        for unit in UNITS:
            with self.subTest(unit=unit):
                basic = client.execute(ReadDeviceInformationRequest(0x01, 0x00, unit=unit)).information
                self.assertEqual([0, 1, 2], sorted(basic))
                self.assertEqual(b"asleft", basic[0])
                regular = client.execute(ReadDeviceInformationRequest(0x02, 0x00, unit=unit))
                self.assertEqual(0x82, regular.conformity)
                self.assertLessEqual(basic.items(), regular.information.items())
                one = client.execute(ReadDeviceInformationRequest(0x04, 0x01, unit=unit)).information
                self.assertEqual({1: basic[1]}, one)
                server = client.execute(ReportSlaveIdRequest(unit=unit))
                self.assertEqual(unit, server.identifier[0])
                self.assertIn(b"asleft", server.identifier)
                self.assertEqual(0x1234, client.execute(ReturnQueryDataRequest(0x1234, unit=unit)).message[0])

    def values(self, client):
        for unit in UNITS:
            with self.subTest(unit=unit):
                self.assertEqual([0x5143], client.read_holding_registers(0, 1, slave=unit).registers)
                self.assertFalse(client.write_register(0x0022, 120, slave=unit).isError())
                self.assertEqual([120], client.read_holding_registers(0x0022, 1, slave=unit).registers)
                self.assertEqual(2, client.read_holding_registers(0x0021, 1, slave=unit).exception_code)

    def test_tcp(self):
        with Simulator(MAP, *OPTIONS, sheet=SHEET) as sim:
            client = ModbusTcpClient("127.0.0.1", port=int(sim.port))
            self.identify(client)
            self.values(client)

    def test_pty(self):
        link = os.path.join(self.folder, "line")
        with Simulator(MAP, "--pty", link, *OPTIONS, sheet=SHEET) as sim:
            client = ModbusSerialClient(sim.address, baudrate=19200)
            self.identify(client)
            self.values(client)


if __name__ == "__main__":
    unittest.main()
