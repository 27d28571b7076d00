#!/usr/bin/env python3
"""The last word: films for learners are made of whole labelled sessions, nothing decided, and searched as a stranger would.

    films.py CANALOGUE SETS SEED...

For each session the film is rendered (its own check must find nothing), and Tesseract reads a picture of every other second of
the recording and of the film, and in it the very places where the truth says that text is. Words of the truth that it reads in the recording show that it can; none may be read in the
film. Prints the table of docs/privacy.md; the films stay in SETS/../films to be looked at."""
import json
import os
import re
import shutil
import subprocess
import sys

program, sets, seeds = sys.argv[1], sys.argv[2], sys.argv[3:]
films = os.path.join(os.path.dirname(os.path.abspath(sets)), "films")
shutil.rmtree(films, ignore_errors=True)


def run(*args, **more):
    return subprocess.run([program, *args], capture_output=True, text=True, env={**os.environ, "CANALOGUE_PASSPHRASE": "bench passphrase"}, **more)


def tokens(words):
    """What tells somebody: names, numbers, dates; in parts of four letters or three digits."""
    return {t.lower() for t in re.findall(r"[A-Za-z]{4,}|\d{3,}", words)}


def box_at(item, t):
    """Where it is at a time, or nothing."""
    known = [b for b in item["boxes"] if b["t"] <= t + 1e-6]
    return known[-1] if known and item["start"] <= t < item["end"] else None


def read(film, truth, size):
    """What Tesseract reads in the whole of a picture each second, and, three times as large and in black on white, where the
    truth says that text is. `size`: of the film's picture; the recording fills it, centred, in its own shape."""
    place = os.path.join(films, "pictures")
    shutil.rmtree(place, ignore_errors=True)
    os.makedirs(place)
    w, h = truth["size"]["w"], truth["size"]["h"]
    scale = min(size[0] / w, size[1] / h)
    left, top = (size[0] - w * scale) / 2, (size[1] - h * scale) / 2
    text = ""
    for second in range(1, int(truth["seconds"]), 2):
        picture = os.path.join(place, "whole.png")
        subprocess.run(["ffmpeg", "-v", "error", "-y", "-ss", str(second), "-i", film, "-frames:v", "1", picture], check=True)
        text += ocr(picture, "11")
        for item in truth["text"]:
            b = box_at(item, second)
            if not b:
                continue
            x, y, bw, bh = left + b["x"] * scale - 6, top + b["y"] * scale - 6, b["w"] * scale + 12, b["h"] * scale + 12
            turn = ",transpose=1" if bh > bw else ""
            for look in ("", ",negate"):
                part = os.path.join(place, "part.png")
                made = subprocess.run(["ffmpeg", "-v", "error", "-y", "-i", picture, "-vf", f"crop={max(8, int(bw))}:{max(8, int(bh))}:{max(0, int(x))}:{max(0, int(y))}{turn},scale=iw*3:-1:flags=lanczos,format=gray{look}", part])
                text += ocr(part, "7") if made.returncode == 0 else ""
    shutil.rmtree(place)
    return tokens(text)


def ocr(picture, mode):
    return subprocess.run(["tesseract", picture, "-", "--psm", mode], capture_output=True, text=True).stdout + "\n"


print("| session | own check of the film | tokens of the truth | read in the recording | read in the film | seconds not wholly covered |")
print("| --- | --- | --- | --- | --- | --- |")
leaked = 0
for seed in seeds:
    folder = os.path.join(sets, seed)
    truth = json.load(open(os.path.join(folder, "truth.json")))
    library, out, plan = (os.path.join(films, seed, n) for n in ("library", "film", "plan.json"))
    os.makedirs(os.path.dirname(plan))
    run("import", "--library", library, "--session", "s1", "--ear", "right", os.path.join(folder, truth["file"]), check=True)
    # As a person would seal them: without what the device writes before.
    known = sorted({re.sub(r"^((Name|Patient|DOB|Born|NHS|ID|MRN|TEST)[: ]+)+", "", t["words"]) for t in truth["text"] if t.get("words") and t["what"] in ("name", "birth date", "record number")})
    if known:
        run("known", "--library", library, "s1", *known, check=True)
    run("scan", "--library", library, "s1", check=True)
    # A title and the whole session; no words that could be taken for a leak.
    json.dump({"canalogue_plan": 1, "title": "Session", "film": {"strip": "off"},
               "items": [{"recording": "r1", "ear": "right", "from": 0, "until": truth["seconds"] - 0.2}]}, open(plan, "w"))
    made = run("render", "--library", library, "s1", "--plan", plan, "--out", out, "--by", "bench")
    place = out if os.path.isdir(out) else None
    verdict = "nothing found" if made.returncode == 0 else f"exit {made.returncode}: {made.stderr.strip().splitlines()[-1][:160] if made.stderr.strip() else ''}"
    # The film itself says which ear it shows.
    wanted = set().union(*[tokens(t.get("words", "")) for t in truth["text"] + truth["room_text"]]) - {"left", "right"} if truth["text"] + truth["room_text"] else set()
    before = wanted & read(os.path.join(folder, truth["file"]), truth, (truth["size"]["w"], truth["size"]["h"]))
    after = set()
    if place:
        film = next(os.path.join(place, f) for f in sorted(os.listdir(place)) if f.endswith(".mp4"))
        after = wanted & read(film, truth, (1280, 720))
        leaked += len(after)
    outside = sum(s["end"] - s["start"] for s in truth["outside"])
    print(f"| {seed} | {verdict} | {len(wanted)} | {len(before)} | {', '.join(sorted(after)) or 0 if place else 'no film'} | {truth['seconds'] - outside:.1f} |", flush=True)
print(f"\n{leaked} tokens of the truth were read in the films.")
