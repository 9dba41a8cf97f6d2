# SPDX-License-Identifier: MIT
# What the figures share: the helpers they need compiled, rows of one table, and an invented drive of 60 scattered parameters.
import os
import random
import subprocess
import textwrap

HERE = os.path.dirname(os.path.abspath(__file__))
SOURCE_DIR = os.path.dirname(os.path.dirname(HERE))
UNIT = 4
PARAMETERS = 60
# What the drive holds in the gaps: all of those that could be read along (at 115200 baud and 5 ms turnaround, one of 52
# registers costs as much as a request), of wider ones the ends.
BRIDGED, BESIDE = 64, 16


def package_flags(*options):
    return subprocess.run(["pkg-config", *options], check=True, capture_output=True, text=True).stdout.split()


def compile_helper(folder, name, *options, sources=()):
    """Compiles bench/NAME.c and sources of the tree into FOLDER; returns the program's path."""
    target = os.path.join(folder, name)
    paths = [os.path.join(HERE, f"{name}.c"), *(os.path.join(SOURCE_DIR, source) for source in sources)]
    subprocess.run([os.environ.get("CC", "cc"), "-O2", "-o", target, *paths, *options], check=True)
    return target


def row(what, figure, goal="", met=None):
    word = {None: "", True: "met", False: "NOT MET"}[met]
    print(f"{what:<72} {figure:>9} {goal:>8} {word}".rstrip(), flush=True)


def series(what, figures):
    """Many of a kind, {label: figure}, in few lines."""
    print(what, flush=True)
    print(textwrap.fill(", ".join(f"{label}: {figure}" for label, figure in figures.items()), 100, initial_indent="    ",
                        subsequent_indent="    "), flush=True)


def scattered_addresses():
    """Runs of parameters with gaps between, as maps have them: the same ones in every run."""
    chance = random.Random(60)
    addresses, at = [], 0x100
    while len(addresses) < PARAMETERS:
        for _ in range(chance.randint(1, 4)):
            addresses.append(at)
            at += 1
        at += chance.choice((1, 2, 4, 9, 18, 30, 60, 90, 150))
    return addresses[:PARAMETERS]


def setting(index):
    """What the drive holds in the index-th parameter, in tenths of a hertz."""
    return 10 * (index + 1) + 5


def write_drive(folder, addresses, line, modbus=""):
    """A map of a parameter an address, and of what lies in the gaps; a sheet that asks for a value of each. Both paths."""
    lines = ["map: sixty", "about: Invented for the measurement.", f"modbus: {{count_from: 0{modbus}}}", "parameters:"]
    settings = []
    for index, address in enumerate(addresses):
        lines.append(f"  value_{index}: {{at: holding {address:#06x}, type: u16, scale: 0.1, unit: Hz, settable: always}}")
        settings.append(f"  value_{index}: {setting(index) / 10} Hz")
    for address, after in zip(addresses, addresses[1:]):
        for at in range(address + 1, after):
            if after - address <= BRIDGED or min(at - address, after - at) <= BESIDE:
                lines.append(f"  between_{at}: {{at: holding {at:#06x}, type: u16}}")
    sheet = ["tag: SIXTY", "drive: {map: map.yaml}", f"line: {{{line}, unit: {UNIT}}}", "settings:", *settings]
    paths = []
    for name, text in (("map.yaml", lines), ("sheet.yaml", sheet)):
        paths.append(os.path.join(folder, name))
        with open(paths[-1], "w", encoding="utf-8") as stream:
            stream.write("\n".join(text) + "\n")
    return paths


def names(addresses):
    return [f"value_{index}" for index in range(len(addresses))]
