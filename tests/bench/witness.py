# SPDX-License-Identifier: MIT
# Figures of sampling: how many of the samples that a line at 19200 baud allows a witness takes of a ramp of 10 s, beside a
# loop of plain libmodbus reads of the same registers.
import json
import os
import re
import subprocess

import bench
import program
from wire import Line, TURNAROUND_MS

BAUD, REGISTERS, GOAL = 19200, 8, 0.9

# Eight registers that are sampled, and what lies behind them, as maps have it.
MAP = """map: sampled
about: Invented for the measurement.
modbus: {count_from: 0, word_order: high-first}
parameters:
  state: {at: input 0, type: bits, bits: {0: running, 1: stopped}, means: live.state}
  frequency: {at: input 1, type: u16, scale: 0.01, unit: Hz, means: live.output_frequency}
  command: {at: input 2, type: u16, scale: 0.01, unit: Hz, means: live.frequency_command}
  current: {at: input 3, type: u16, scale: 0.01, unit: A, means: live.output_current}
  voltage: {at: input 4, type: u16, scale: 0.1, unit: V, means: live.output_voltage}
  bus: {at: input 5, type: u16, scale: 0.1, unit: V, means: live.dc_bus_voltage}
  power: {at: input 6, type: u16, scale: 0.01, unit: kW, means: live.output_power}
  trip: {at: input 7, type: u16, means: live.trip_code}
  heatsink: {at: input 8, type: u16, scale: 0.1, unit: degC, means: live.heatsink_temperature}
  hours: {at: input 9, type: u32, unit: h, means: live.hours_run}
  spare: {at: input 11, type: u16}
  acceleration_time: {at: holding 0, type: u16, scale: 0.1, unit: s, means: ramp.acceleration_time, ramp_span: 60 Hz}
  deceleration_time: {at: holding 1, type: u16, scale: 0.1, unit: s, means: ramp.deceleration_time, ramp_span: 60 Hz}
"""
SHEET = """tag: S-1
drive: {{map: sampled.yaml}}
line: {{serial: {port}, baud: {baud}, parity: even, stop_bits: 1, unit: 4, alone: true}}
motor: {{rated_power: 2 hp, rated_voltage: 460 V, rated_current: 3 A, rated_frequency: 60 Hz, rated_speed: 1745 rpm}}
supply: {{voltage: 480 V, phases: 3, frequency: 60 Hz}}
settings: {{limit.maximum_frequency: 60 Hz, ramp.acceleration_time: 10 s, ramp.deceleration_time: 2 s}}
"""


def write_files(folder, port):
    paths = []
    for name, text in (("sampled.yaml", MAP), ("S-1.yaml", SHEET.format(port=port, baud=BAUD))):
        paths.append(os.path.join(folder, name))
        with open(paths[-1], "w", encoding="utf-8") as stream:
            stream.write(text)
    return paths


def until(simulator, pattern):
    while True:
        simulator.key("show frequency")
        if re.search(pattern, simulator.lines.wait_for("frequency")):
            return


def witness(folder, sheet, simulator):
    """A ramp of 10 s up, and down again; the result."""
    command = [program.ASLEFT, "witness", sheet, "--store", os.path.join(folder, "records.sqlite"), "--format", "json"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL)
    program.Lines(process.stderr).wait_for("start the motor at the drive now")
    simulator.key("start")
    until(simulator, r"60\.00? Hz")
    simulator.key("stop")
    out, _ = process.communicate(timeout=program.PATIENCE_S)
    if process.returncode not in (0, 1, 2):
        raise RuntimeError(f"status {process.returncode} of {' '.join(command)}")
    return json.loads(out)


def figures(folder):
    loop = bench.compile_helper(folder, "plain_loop", *bench.package_flags("--cflags", "--libs", "libmodbus"))
    port = os.path.join(folder, "sampled-line")
    map_path, sheet = write_files(folder, port)
    options = ("--pty", port, "--pace", str(BAUD), "--turnaround", str(TURNAROUND_MS))
    with program.Simulator(map_path, *options, sheet=sheet) as simulator:
        result = witness(folder, sheet, simulator)
        plain = subprocess.run([loop, f"{port}:{BAUD}", "4", "0", str(REGISTERS), "10"], check=True, capture_output=True,
                               text=True, timeout=program.PATIENCE_S).stdout.split()
    most = 1 / Line(BAUD).read(REGISTERS)
    at_ms = next(one for one in result["series"] if one["means"] == "live.output_frequency")["at_ms"]
    rate = (len(at_ms) - 1) / (at_ms[-1] - at_ms[0]) * 1000
    plain_rate = int(plain[0]) / float(plain[1])
    bench.row(f"witness of {REGISTERS} registers at {BAUD} baud: samples a second", f"{rate:.1f}")
    bench.row(f"  of the {most:.1f} that the wire allows", f"{rate / most:.3f}", f">= {GOAL}", rate / most >= GOAL)
    bench.row(f"  a loop of libmodbus, {plain_rate:.1f} a second", f"{plain_rate / most:.3f}")
    measured = {measure["name"]: measure for measure in result["measures"]}
    ramp = measured.get("acceleration_time")
    if ramp is None:
        raise RuntimeError("the ramp was not measured")
    bench.row(f"  the ramp of 10 s, from {len(at_ms)} samples", f"{ramp['found']:.3f} s")
    bench.row("  its stated uncertainty, 95 %", f"{(ramp['below'] + ramp['above']) / 2:.3f} s")
