#!/usr/bin/python3
"""Writes real output into README.md, between its marks, and the overlay picture docs/overlay.jpg.

    scripts/readme.py [demo] [test] [accuracy] [bench]

demo runs make demo; test and bench run those targets (minutes); accuracy takes the table of
goals and the real photographs from docs/accuracy.md. Without arguments: demo and accuracy.
"""

import io
import pathlib
import re
import subprocess
import sys

from PIL import Image

ROOT = pathlib.Path(__file__).resolve().parent.parent
OVERLAY = ROOT / "build/demo/gap-3.0/mixed-1.overlay.jpg"
MOST_BYTES = 290_000
MOST_PX = 1600


def output(*command, check=True):
    done = subprocess.run(command, cwd=ROOT, check=check, capture_output=True, text=True)
    return done.stdout


def code(text):
    return "```\n" + text.strip("\n") + "\n```"


def demo():
    """The first load of the demo, without the other load and without the list of overlays."""
    # A refusal in another load is none of this load's.
    text = output("make", "--no-print-directory", "demo", check=False)
    first = re.split(r"(?m)^(?=Load \d)", text)[1]
    if "refused" in first or "overlay: " not in first:
        sys.exit("readme: the first load of the demo was not measured")
    picture()
    return code(re.sub(r"(?m)^overlay: .*\n?", "", first))


def picture():
    photo = Image.open(OVERLAY).convert("RGB")
    photo.thumbnail((MOST_PX, MOST_PX), Image.LANCZOS)
    for quality in range(88, 40, -4):
        data = io.BytesIO()
        photo.save(data, "JPEG", quality=quality, optimize=True, progressive=True)
        if data.tell() <= MOST_BYTES:
            break
    (ROOT / "docs/overlay.jpg").write_bytes(data.getvalue())


def test():
    lines = output("make", "--no-print-directory", "test").splitlines()
    return code("\n".join([line for line in lines if re.match(r"ok |==|test:", line)][-14:]))


def section(report, title):
    found = re.search(rf"(?ms)^#+ {re.escape(title)}\n\n(.*?)(?=^#|\Z)", report)
    return found.group(1).strip() if found else ""


def accuracy():
    report = (ROOT / "docs/accuracy.md").read_text(encoding="utf-8")
    seeds = re.search(r"(?m)^Commit .*$", report).group(0)
    return "\n\n".join([seeds, section(report, "What was to be reached"), "Real photographs:", section(report, "Real photographs")])


def bench():
    return output("make", "--no-print-directory", "bench").split("\n\n", 1)[1].strip()


def main():
    readme = ROOT / "README.md"
    for name in sys.argv[1:] or ["demo", "accuracy"]:
        block = {"demo": demo, "test": test, "accuracy": accuracy, "bench": bench}[name]()
        text = readme.read_text(encoding="utf-8")
        mark = re.compile(rf"(?s)(<!-- {name}: [^\n]*-->\n).*?(<!-- /{name} -->)")
        readme.write_text(mark.sub(lambda m: m.group(1) + block + "\n" + m.group(2), text), encoding="utf-8")


if __name__ == "__main__":
    main()
