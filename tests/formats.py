#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# Hands what asleft writes as JUnit XML to xmllint, and as OpenMetrics to promtool (PROMTOOL) and to prometheus_client's parser.
import os
import subprocess
import sys
import tempfile

from prometheus_client.openmetrics.parser import text_string_to_metric_families

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "whole"))
import program

READERS = {"junit": ["xmllint", "--noout", "-"], "openmetrics": [os.environ.get("PROMTOOL", "promtool"), "check", "metrics"]}


def outputs(name):
    """A right drive, wrong ones, silent ones, one with text that markup and labels would take for their own."""
    map_path, sheet, other = program.fixture("compact.yaml"), program.fixture("P-7.yaml"), program.fixture("P-8.yaml")
    for changes in ((), ("--set", "motor_current=6.1"), ("--set", "model_code=7")):
        with program.Simulator(map_path, *changes, sheet=sheet) as simulator:
            yield program.asleft("verify", sheet, "--port", simulator.port, "--format", name)
    yield program.asleft("verify", sheet, other, sheet, "--port", "1", "--format", name)
    with tempfile.TemporaryDirectory(prefix="asleft-test-") as folder:
        path = os.path.join(folder, "sheet.yaml")
        with open(sheet, encoding="utf-8") as stream:
            text = stream.read().replace("map: compact.yaml", f"map: {map_path}")
        with open(path, "w", encoding="utf-8") as stream:
            stream.write(text.replace("Test bench pump", "'<![CDATA[ ]]> & \\ \" 35 °C מה'"))
        yield program.asleft("verify", path, "--port", "1", "--format", name)


def main():
    complaints = read = 0
    for name, reader in READERS.items():
        for result in outputs(name):
            run = subprocess.run(reader, input=result.out.encode("utf-8"), capture_output=True)
            said = (run.stdout + run.stderr).decode("utf-8", "replace").strip()
            read += 1
            if not result.out or run.returncode != 0 or said:
                complaints += 1
                print(f"{' '.join(reader)}: status {run.returncode}: {said}\n{result}")
            if name == "openmetrics":
                try:
                    families = list(text_string_to_metric_families(result.out))
                except ValueError as error:
                    complaints += 1
                    print(f"prometheus_client: {error}\n{result}")
                else:
                    if not families:
                        complaints += 1
                        print(f"prometheus_client finds no metric\n{result}")
    print(f"{read} results read, {complaints} complaints")
    return 1 if complaints or not read else 0


if __name__ == "__main__":
    sys.exit(main())
