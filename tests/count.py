#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# Counts the test functions behind ctest's result: cmocka's and unittest's own summaries, or one for any other program.
import re
import sys
import xml.etree.ElementTree as tree

CMOCKA_PASSED = re.compile(r"^\[  PASSED  \] (\d+) test\(s\)\.$", re.M)
CMOCKA_FAILED = re.compile(r"^\[  FAILED  \] \w+: (\d+) test\(s\), listed below:$", re.M)
UNITTEST_RAN = re.compile(r"^Ran (\d+) tests? in ", re.M)
UNITTEST_NOT_PASSED = re.compile(r"\b(failures|errors|skipped)=(\d+)")


def count(output):
    """(passed, failed) as the program's own summary says; (0, 0) where it has none."""
    ran = UNITTEST_RAN.search(output)
    if ran:
        rest = {word: int(number) for word, number in UNITTEST_NOT_PASSED.findall(output[ran.end():])}
        run = int(ran.group(1)) - rest.get("skipped", 0)
        # A test with several sub-tests may fail several times, and is one test all the same.
        failed = min(run, rest.get("failures", 0) + rest.get("errors", 0))
        return run - failed, failed
    passed = sum(map(int, CMOCKA_PASSED.findall(output)))
    return passed, sum(map(int, CMOCKA_FAILED.findall(output)))


def main():
    total_passed = total_failed = 0
    for case in tree.parse(sys.argv[1]).getroot().iter("testcase"):
        output = case.findtext("system-out") or ""
        passed, failed = count(output)
        if case.get("status") == "run":
            passed = passed or 1
        else:
            # A program that died (a sanitizer's report, a time-out) has no summary, and is a failure all the same.
            failed = failed or 1
        total_passed += passed
        total_failed += failed
    print(total_passed, total_failed)


main()
