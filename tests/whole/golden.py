# SPDX-License-Identifier: MIT
# Compares a run's standard output and error with the text kept in fixtures/expected, times and places left out.
#
# ASLEFT_UPDATE_EXPECTED=1 writes the files anew; read the difference before you keep it.
import os
import re

import program

EXPECTED = os.path.join(program.FIXTURES, "expected")

UNSTABLE = (
    (re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(\.\d+)?( ?Z| UTC)?"), "<time>"),
    (re.compile(r"\b[0-9a-f]{64}\b"), "<sha256>"),
    (re.compile(r"127\.0\.0\.1([: ])(?:port )?\d+"), r"127.0.0.1\1<port>"),
    (re.compile(r'"requests":\d+'), '"requests":<n>'),
    (re.compile(r"\b\d+ requests?\b"), "<n> requests"),
    (re.compile(r"/tmp/asleft-test-\w+/"), "<folder>/"),
    (re.compile(r"[^ \n]*/tests/whole/fixtures/"), "<fixtures>/"),
    (re.compile(r"--port \d+"), "--port <port>"),
    (re.compile(r"\b[0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4}\b"), "<code>"),
    (re.compile(r"\b[0-9a-f]{8}\b(?!\w)"), "<record>"),
    (re.compile(r"by \S+ at \S+ with"), "by <who> at <host> with"),
    (re.compile(r"  \S+ at \S+ +<record>"), "  <who> at <host>  <record>"),
    (re.compile(r"changed since \d{4}-\d\d-\d\d"), "changed since <day>"),
    (re.compile(r"asleft \d+\.\d+\.\d+"), "asleft <version>"),
)


def stable(text):
    for pattern, replacement in UNSTABLE:
        text = pattern.sub(replacement, text)
    return text


def check(case, name, result):
    found = stable(result.out)
    if result.err:
        found += "--- standard error ---\n" + stable(result.err)
    path = os.path.join(EXPECTED, re.sub(r"\.text$", ".txt", name))
    if os.environ.get("ASLEFT_UPDATE_EXPECTED"):
        os.makedirs(EXPECTED, exist_ok=True)
        with open(path, "w", encoding="utf-8", newline="") as stream:
            stream.write(found)
    with open(path, encoding="utf-8", newline="") as stream:
        case.assertEqual(stream.read(), found, f"\n{result}")
