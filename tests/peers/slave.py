#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# A Modbus slave that nobody here wrote (Debian's python3-pymodbus), with registers encoded by a few lines of its own.
#
# As a module: encode() and Slave. As a program: serves the JSON description on standard input until killed, and prints
# "ready ADDRESS". Description: {"unit": 4, "tables": {"holding": {"16": [1, 2]}}, "port": null or "/dev/pts/7",
# "log": null or "FILE", "done_at_once": [96]}. The file gets a line of JSON for each write before its reply goes out:
# [function, address, values]. What stands in done_at_once always reads 0, as a command that was carried out.
import asyncio
import json
import os
import select
import struct
import subprocess
import sys
import threading
import tty


def encode(kind, value, word_order="high-first"):
    """The words that a drive would send for a raw value of that kind."""
    if kind in ("u16", "s16"):
        data = struct.pack(">H" if kind == "u16" else ">h", value)
    elif kind in ("u32", "s32", "f32"):
        data = struct.pack({"u32": ">I", "s32": ">i", "f32": ">f"}[kind], value)
        if word_order == "low-first":
            data = data[2:] + data[:2]
    elif kind == "bits":
        data = struct.pack(">H", sum(1 << bit for bit in value))
    elif kind.startswith("text"):
        registers = int(kind[5:-1])
        data = value.encode("ascii").ljust(2 * registers, b"\0")
    elif kind == "bool":
        return [1 if value else 0]
    else:
        raise ValueError(f"no such kind: {kind}")
    return list(struct.unpack(f">{len(data) // 2}H", data))


class Bridge:
    """Two pseudo-terminals joined like a serial cable: what goes into one comes out of the other.

    The client's end is not held open here, so that each run finds the port as a port that nobody has.
    """

    def __init__(self):
        self.masters, self.names = [], []
        for _ in range(2):
            master, terminal = os.openpty()
            tty.setraw(terminal)
            self.masters.append(master)
            self.names.append(os.ttyname(terminal))
            if len(self.masters) == 2:
                self._held = terminal  # the slave's end: a port that stays
            else:
                os.close(terminal)
        self._stop_read, self._stop_write = os.pipe()
        self._thread = threading.Thread(target=self._pump, daemon=True)
        self._thread.start()

    def _pump(self):
        while True:
            ready = select.select([*self.masters, self._stop_read], [], [])[0]
            if self._stop_read in ready:
                return
            for index, master in enumerate(self.masters):
                if master not in ready:
                    continue
                try:
                    os.write(self.masters[1 - index], os.read(master, 4096))
                except OSError:
                    # Nobody has the client's end open; look again in a while.
                    select.select([self._stop_read], [], [], 0.002)

    def close(self):
        os.write(self._stop_write, b"x")
        self._thread.join()
        for descriptor in (*self.masters, self._held, self._stop_read, self._stop_write):
            os.close(descriptor)


class Slave:
    """The program below as a child; use it in a with statement. `address` is what a client opens."""

    def __init__(self, registers, unit=4, serial=False, log=None, done_at_once=()):
        """registers: {(table, address): words}"""
        self._tables = {"coil": {}, "discrete": {}, "input": {}, "holding": {}}
        for (table, address), words in registers.items():
            self._tables[table][address] = words
        self._unit, self._serial = unit, serial
        self._log, self._done_at_once = log, list(done_at_once)

    def __enter__(self):
        self._bridge = Bridge() if self._serial else None
        description = {"unit": self._unit, "tables": self._tables, "log": self._log, "done_at_once": self._done_at_once}
        description["port"] = self._bridge.names[1] if self._bridge else None
        self._process = subprocess.Popen(["/usr/bin/python3", os.path.abspath(__file__)], stdin=subprocess.PIPE,
                                         stdout=subprocess.PIPE, text=True)
        self._process.stdin.write(json.dumps(description))
        self._process.stdin.close()
        line = self._process.stdout.readline()
        if not line.startswith("ready "):
            self.__exit__()
            raise AssertionError(f"the slave did not start: '{line}'")
        self.address = self._bridge.names[0] if self._bridge else line.split()[1]
        return self

    def __exit__(self, *_):
        self._process.kill()
        self._process.wait()
        self._process.stdout.close()
        if self._bridge:
            self._bridge.close()


def context(description):
    from pymodbus.datastore import ModbusServerContext, ModbusSlaveContext, ModbusSparseDataBlock

    def block(table):
        cells = {}
        for first, words in description["tables"][table].items():
            cells.update({int(first) + index: word for index, word in enumerate(words)})
        # An empty table would be taken for the default, which is full of zeros: give it one cell at the far end.
        return ModbusSparseDataBlock(cells or {65535: 0})

    class Logging(ModbusSlaveContext):
        def setValues(self, function, address, values):
            if description["log"]:
                with open(description["log"], "a", encoding="ascii") as stream:
                    stream.write(json.dumps([function, address, values]) + "\n")
            super().setValues(function, address, values)

        def getValues(self, function, address, count=1):
            values = super().getValues(function, address, count)
            if function != 3:  # a write looks up what it has written, for its reply
                return values
            return [0 if address + i in description["done_at_once"] else value for i, value in enumerate(values)]

    # zero_mode: addresses as on the wire, without one being added.
    slave = Logging(co=block("coil"), di=block("discrete"), ir=block("input"), hr=block("holding"), zero_mode=True)
    return ModbusServerContext(slaves={description["unit"]: slave}, single=False)


async def serve(description):
    import logging

    from pymodbus.server.async_io import ModbusSerialServer, ModbusTcpServer
    from pymodbus.transaction import ModbusRtuFramer

    logging.getLogger("pymodbus").setLevel(logging.CRITICAL)  # a refused hole is no news here
    # A missing unit is silent, as on a real line, instead of answered with exception 0B.
    if description["port"]:
        server = ModbusSerialServer(context(description), ModbusRtuFramer, port=description["port"], baudrate=19200,
                                    parity="N", stopbits=2, ignore_missing_slaves=True)
        await server.start()
        if server.transport is None:  # it fails without a word otherwise
            sys.exit(f"cannot open {description['port']}")
        print("ready", description["port"], flush=True)
        await server.serve_forever()
    else:
        server = ModbusTcpServer(context(description), address=("127.0.0.1", 0), ignore_missing_slaves=True)
        task = asyncio.create_task(server.serve_forever())
        await server.serving
        print("ready", server.server.sockets[0].getsockname()[1], flush=True)
        await task


if __name__ == "__main__":
    asyncio.run(serve(json.load(sys.stdin)))
