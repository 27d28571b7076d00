#!/usr/bin/env python3
"""Reads lines of canalogue-privacy-score and prints the table of docs/privacy.md: drawn sets alone, the sum over all
sessions, and the worst session with it."""
import json
import sys

rows = [json.loads(line) for line in sys.stdin if line.startswith("{")]


def weighted(key, weight):
    total = sum(r[weight] for r in rows if r[key] is not None)
    return sum(r[key] * r[weight] for r in rows if r[key] is not None) / total if total else None


def worst(value, low=True):
    known = [(value(r), r["seed"]) for r in rows if value(r) is not None]
    return (min(known) if low else max(known)) if known else (None, "")


def share(part, whole):
    return lambda r: part(r) / whole(r) if whole(r) > 0 else None


def line(name, mean, worst_of, limit):
    print(f"| {name} | {100 * mean:.2f} % | {100 * worst_of[0]:.2f} % ({worst_of[1]}) | {limit} |" if mean is not None else f"| {name} | none | | {limit} |")


seconds = lambda k: sum(r[k] for r in rows)
print(f"{len(rows)} sessions, {seconds('seconds'):.0f} s\n\n| measure | all | worst session (seed) | wanted |\n| --- | --- | --- | --- |")
line("burnt-in text found, time x area", weighted("text_found", "text_weight"), worst(lambda r: r["text_found"]), ">= 99.5 %")
line("burnt-in text covered by anything", weighted("text_covered", "text_weight"), worst(lambda r: r["text_covered"]), "")
line("outside: seconds missed", seconds("outside_missed") / seconds("outside_seconds"), worst(share(lambda r: r["outside_missed"], lambda r: r["outside_seconds"]), False), "<= 0.1 %")
line("inside: seconds wholly covered", seconds("inside_wholly_covered") / seconds("inside_seconds"), worst(share(lambda r: r["inside_wholly_covered"], lambda r: r["inside_seconds"]), False), "<= 2 %")
line("the same, farther than 1.25 s from any stay outside", seconds("far_wholly_covered") / seconds("far_seconds"), worst(share(lambda r: r["far_wholly_covered"], lambda r: r["far_seconds"]), False), "")
line("inside: text and face covers beyond those of the truth", sum(r["too_much"] * r["inside_seconds"] for r in rows) / seconds("inside_seconds"), worst(lambda r: r["too_much"], False), "<= 1 %")
line("faces of photographs found (were the outside kept)", weighted("faces_found", "faces_weight"), worst(lambda r: r["faces_found"]), ">= 97 %")
line("drawn faces found", weighted("drawn_faces_found", "drawn_faces_weight"), worst(lambda r: r["drawn_faces_found"]), ">= 97 %")
line("ears and other parts of people found", weighted("people_found", "people_weight"), worst(lambda r: r["people_found"]), "")
for kind in ("synthetic", "real"):
    total = sum(r["speech"][kind]["seconds"] for r in rows)
    missed = sum(r["speech"][kind]["missed"] for r in rows)
    line(f"speech, {kind}: seconds found", 1 - missed / total if total else None, worst(lambda r: 1 - r["speech"][kind]["missed"] / r["speech"][kind]["seconds"] if r["speech"][kind]["seconds"] else None), ">= 99 %")
line("tags of the file found", sum(r["tags_found"] for r in rows) / sum(r["tags"] for r in rows), worst(lambda r: r["tags_found"] / r["tags"]), "")
line("seconds with any uncovered pixel of the truth", seconds("seconds_with_an_uncovered_pixel") / seconds("seconds"), worst(lambda r: r["seconds_with_an_uncovered_pixel"] / r["seconds"], False), "0")
for size in sorted({r["size"] for r in rows}):
    some = [r for r in rows if r["size"] == size]
    scan, decode, film = (sum(r[k] for r in some) for k in ("scan_seconds", "decode_seconds", "seconds"))
    print(f"| scan at {size}: times real time | {film / scan:.1f} x | bare decode {film / decode:.0f} x | |")
bins = {}
for r in rows:
    for s in r["sureness"]:
        bins.setdefault((s["kind"], min(9, int(s["sure"] * 10))), []).append(s["right"])
for kind, b in sorted(bins):
    print(f"sureness {b / 10:.1f} to {(b + 1) / 10:.1f} ({kind}): right {sum(bins[kind, b])} of {len(bins[kind, b])}")
if any(r["unscanned"] or r["troubles"] or r["frames"] != r["frames_wanted"] for r in rows):
    print("NOT SOUND: " + ", ".join(str(r["seed"]) for r in rows if r["unscanned"] or r["troubles"] or r["frames"] != r["frames_wanted"]))
