#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# Validates what asleft writes as JSON against the published schemas in docs/schema.
import glob
import json
import os
import sys
import tempfile

import jsonschema

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "whole"))
import program
import witnessing


def published():
    """{"asleft/verify/1": validator}, by the constant that each schema demands of the key "schema"."""
    validators = {}
    for path in sorted(glob.glob(os.path.join(program.SOURCE_DIR, "docs", "schema", "*.json"))):
        with open(path, encoding="utf-8") as stream:
            schema = json.load(stream)
        kind = jsonschema.validators.validator_for(schema)
        kind.check_schema(schema)
        name = schema["properties"]["schema"]["const"]
        validators[name] = kind(schema)
    return validators


def outputs():
    """JSON of every command that writes some: a right drive, wrong ones, a silent one, and every sheet that ships."""
    for sheet in sorted(glob.glob(os.path.join(program.SOURCE_DIR, "maps", "sheets", "*.yaml"))):
        yield program.asleft("setpoints", sheet, "--format", "json")
        yield program.asleft("proofread", sheet, "--format", "json")
    map_path, sheet = program.fixture("compact.yaml"), program.fixture("P-7.yaml")
    for changes in ((), ("--set", "motor_current=6.1"), ("--set", "model_code=7")):
        with program.Simulator(map_path, *changes, sheet=sheet) as simulator:
            for command in ("verify", "read"):
                yield program.asleft(command, sheet, "--port", simulator.port, "--format", "json")
    yield program.asleft("verify", sheet, "--port", "1", "--format", "json")
    with tempfile.TemporaryDirectory(prefix="asleft-test-") as folder:
        for faults in ((), ("--fault", "exception=02"), ("--fault", "corrupt"), ("--fault", "silent")):
            with program.Simulator(map_path, "--pty", os.path.join(folder, "line"), "--unit", "4", *faults) as simulator:
                yield program.asleft("find", "--serial", simulator.address, "--baud", "19200", "--parity", "even",
                                     "--unit", "4", "--format", "json")
    yield program.asleft("find", "--host", "127.0.0.1", "--port", "1", "--format", "json")
    yield from kept_and_written()


def kept_and_written():
    """Records, lists of writes that are shown, refused and performed, and the history of it all."""
    map_path, sheet = program.fixture("writable.yaml"), program.fixture("W-1.yaml")
    wrong = ("--set", "motor_current=6.0 A", "--set", "energy_saver=0", "--fault", "not-kept@2")
    with program.Simulator(map_path, *wrong, sheet=sheet) as simulator:
        def run(command, *arguments):
            return program.asleft(command, sheet, *arguments, "--port", simulator.port, "--format", "json")

        yield run("record", "--as", "found")
        shown = run("write")
        yield shown
        yield run("write", "--confirm", "0000-0000")
        yield run("write", "--confirm", shown.json()["code"])  # the second value is not kept
        yield run("record", "--as", "found")
        yield run("restore", "found")
        simulator.key("start")
        simulator.lines.wait_for("start")
        yield run("write")  # refused
    yield from witnessed()
    yield program.asleft("history", "--format", "json")


def witnessed():
    """A run, the same from the store, what is handed over with and without records, and a run that was never seen."""
    with program.Simulator(witnessing.MAP, sheet=witnessing.SHEET) as simulator:
        line = ("--port", simulator.port, "--format", "json")
        with witnessing.Witness(*line) as witness:
            witness.samples()
            witnessing.run_up_and_down(simulator)
            yield witness.result()
        yield program.asleft("witness", witnessing.SHEET, "--from", "witnessed", "--format", "json")
        yield program.asleft("accept", witnessing.SHEET, *line)
        yield program.asleft("accept", witnessing.SHEET, witnessing.SHEET, *line)
        yield program.asleft("record", witnessing.SHEET, "--as", "found", *line)
        yield program.asleft("record", witnessing.SHEET, "--as", "left", *line)
        yield program.asleft("accept", witnessing.SHEET, *line)
        yield program.asleft("witness", witnessing.SHEET, *line, "--most", "1s")
    yield program.asleft("accept", witnessing.SHEET, *line)


def main():
    validators = published()
    used = set()
    complaints = 0
    for result in outputs():
        for line in result.out.splitlines():
            record = json.loads(line)
            name = record.get("schema")
            used.add(name)
            if name not in validators:
                print(f"no schema is published for {name}\n{result}")
                complaints += 1
                continue
            for error in validators[name].iter_errors(record):
                complaints += 1
                print(f"{name}: {'/'.join(map(str, error.absolute_path))}: {error.message}\n{result.command}")
    for name in sorted(set(validators) - used):
        complaints += 1
        print(f"{name} is published, and nothing was validated against it")
    print(f"{len(used)} kinds of record, {complaints} complaints")
    return 1 if complaints or not used else 0


if __name__ == "__main__":
    sys.exit(main())
