# SPDX-License-Identifier: MIT
# A page in headless Chromium, in a network namespace without interfaces: its picture, its print, and the words of that print.
import os
import re
import struct
import subprocess
import unicodedata
import zlib

# As an ordinary user a namespace of users comes with it.
ALONE = ["unshare", "--net"] if os.geteuid() == 0 else ["unshare", "--net", "--map-root-user"]
PATIENCE_S = 120  # never waited for when all is well
POINTS_A_MM = 72 / 25.4
MARGIN_MM = 15  # of the page's own style
PAPERS = {"A4": (210, 297), "letter": (215.9, 279.4)}


def run(*command):
    return subprocess.run(command, check=True, capture_output=True, timeout=PATIENCE_S).stdout


def browse(folder, page, *options):
    environment = {**os.environ, "HOME": folder}
    command = [*ALONE, "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
               f"--user-data-dir={folder}/profile", *options, f"file://{page}"]
    said = subprocess.run(command, capture_output=True, timeout=PATIENCE_S, env=environment)
    if said.returncode != 0:
        raise RuntimeError(f"{' '.join(command)}: status {said.returncode}: {said.stderr.decode('utf-8', 'replace')}")


def with_style(page, rule):
    """A copy of the page whose style ends with that rule; its path."""
    with open(page, encoding="utf-8") as stream:
        text = stream.read()
    assert text.count("</style>") == 1, page
    copy = page.replace(".html", "-styled.html")
    with open(copy, "w", encoding="utf-8") as stream:
        stream.write(text.replace("</style>", rule + "\n</style>"))
    return copy


def picture(folder, page, width=1000, height=1400):
    target = page.replace(".html", ".png")
    browse(folder, page, f"--window-size={width},{height}", "--hide-scrollbars", f"--screenshot={target}")
    return target


def unlike_rows(path):
    """How many rows of a PNG are unlike each other as they are stored: a blank page has two or three. Chunks and zlib's
    stream are those of the W3C's Portable Network Graphics specification, chapters 5 and 10."""
    with open(path, "rb") as stream:
        data = stream.read()
    assert data[:8] == b"\x89PNG\r\n\x1a\n", path
    at, body, header = 8, b"", None
    while at < len(data):
        size, kind = struct.unpack(">I4s", data[at:at + 8])
        chunk = data[at + 8:at + 8 + size]
        header = chunk if kind == b"IHDR" else header
        body += chunk if kind == b"IDAT" else b""
        at += size + 12
    rows = zlib.decompress(body)
    height = struct.unpack(">I", header[4:8])[0]
    length = len(rows) // height
    return len({rows[row * length:(row + 1) * length] for row in range(height)})


def printed(folder, page, paper="A4"):
    """The page as PDF on that paper, which is also what its sheets measure."""
    target = page.replace(".html", f"-{paper}.pdf")
    styled = with_style(page, f"@page {{ size: {paper} }}")
    browse(folder, styled, "--no-pdf-header-footer", f"--print-to-pdf={target}")
    os.unlink(styled)
    return target


def squeezed(text):
    """Without what a line's or page's end does to words: spaces, ligatures."""
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", text))


def words_of(pdf, *options):
    return squeezed(run("pdftotext", "-raw", *options, pdf, "-").decode("utf-8"))


def sheets_of(pdf):
    """(width, height, [(x_min, x_max, word)]) of each sheet, in points."""
    sheets = []
    for line in run("pdftotext", "-bbox", pdf, "-").decode("utf-8").splitlines():
        numbers = [float(number) for number in re.findall(r'(?:width|height|xMin|xMax)="([-0-9.]+)"', line)]
        if line.strip().startswith("<page "):
            sheets.append((*numbers, []))
        elif line.strip().startswith("<word "):
            sheets[-1][2].append((*numbers, line))
    return sheets


def off_paper(pdf, paper):
    """What is wrong with the sheets: another size, a word beyond the margins, an empty sheet."""
    width, height = (length * POINTS_A_MM for length in PAPERS[paper])
    left, right = (MARGIN_MM * POINTS_A_MM - 1, width - MARGIN_MM * POINTS_A_MM + 1)
    sheets = sheets_of(pdf)
    wrong = [] if sheets else ["no sheet at all"]
    for number, (wide, high, words) in enumerate(sheets, 1):
        if abs(wide - width) > 1 or abs(high - height) > 1:
            wrong.append(f"sheet {number} measures {wide} x {high} points")
        if not words:
            wrong.append(f"sheet {number} is empty")
        wrong += [f"sheet {number}, beyond the margin: {line.strip()}" for low, high, line in words if low < left or high > right]
    return wrong
