#!/usr/bin/env python3
"""Makes inside_weights.hpp: the small net that tells inside from outside of an ear.

    train.py --features build/bin/canalogue_view_features --models build/models --sessions DIR [--ear-stills DIR] [--demo DIR]... --out plugins/shared/inside_weights.hpp

Learns from labelled sessions (canalogue-labelled --seed N, none of the frozen ones; every sixth is held back), from
demo sessions (all of them are
learnt), from pictures of opencv-doc that no labelled session shows (outside; every third is held back) and, when given, from stills of
real ears (inside; every second is held back; no picture goes into the table). Needs ffmpeg and numpy. The same input gives
the same table. Prints how often held-back pictures are told wrongly."""
import argparse
import glob
import json
import os
import subprocess

import numpy as np

HIDDEN, EDGE, OUTSIDE = 20, 0.15, "/usr/share/doc/opencv-doc/examples"
SHOWN_IN_SESSIONS = ("messi5", "stuff", "home", "basketball", "board", "graf", "fruits", "mask", "depth", "trimap", "matte", "segmented", "gt.", "chessboard")


def features(tool, source, size, variants, seed, fps=None, rim=False):
    scale = f"scale={size[0]}:{size[1]}:flags=area"
    command = ["ffmpeg", "-v", "error", "-i", source, "-vf", (f"fps={fps}," if fps else "") + scale]
    raw = subprocess.run(command + ["-f", "rawvideo", "-pix_fmt", "rgb24", "-"], stdout=subprocess.PIPE, check=True)
    asked = [*tool, *map(str, size), str(variants), str(seed)] + (["round"] if rim else [])
    out = subprocess.run(asked, input=raw.stdout, stdout=subprocess.PIPE, check=True).stdout.decode()
    return [[float(x) for x in line.split()] for line in out.splitlines()]


def session(tool, folder, variants):
    truth = json.load(open(f"{folder}/truth.json"))
    size = (480, max(2, round(480 * truth["size"]["h"] / truth["size"]["w"])))
    rows = []
    for i, f in enumerate(features(tool, os.path.join(folder, truth["file"]), size, variants, truth["seed"], fps=5)):
        t = (i // (variants + 1)) / 5
        out = any(s["start"] <= t < s["end"] for s in truth["outside"])
        # Where the scope has only just come back, or is about to leave, it is neither.
        if any(abs(t - edge) < EDGE for s in truth["outside"] for edge in (s["start"], s["end"])):
            continue
        rows.append((f, 0 if out else 1))
    return rows


def demo(tool, folder, variants):
    """A session of `canalogue demo --recordings-only`: its truth tells of two recordings."""
    rows = []
    for r in json.load(open(f"{folder}/truth.json"))["recordings"]:
        for i, f in enumerate(features(tool, os.path.join(folder, r["file"]), (480, 270), variants, 7, fps=5)):
            t = (i // (variants + 1)) / 5
            if not any(abs(t - edge) < EDGE for s in r["outside"] for edge in (s["start"], s["end"])):
                rows.append((f, 0 if any(s["start"] <= t < s["end"] for s in r["outside"]) else 1))
    return rows


def pictures(tool, files, label, variants, rim, hold_every):
    train, held = [], []
    for n, path in enumerate(files):
        try:
            probe = subprocess.run(["ffprobe", "-v", "error", "-select_streams", "v:0", "-show_entries", "stream=width,height", "-of", "csv=p=0", path], stdout=subprocess.PIPE, check=True)
            w, h = map(int, probe.stdout.decode().strip().split(",")[:2])
            if min(w, h) < 200:
                continue
            k = 480 / max(w, h)
            size = (max(2, round(w * k)), max(2, round(h * k)))
            hold = n % hold_every == 0
            found = features(tool, path, size, 2 if hold else variants, n, rim=rim, fps=0.5 if path.endswith(".avi") else None)
            (held if hold else train).extend((f, label) for f in found)
        except (subprocess.CalledProcessError, ValueError):
            continue
    return train, held


class Net:
    """features -> HIDDEN tanh -> one logistic"""

    def __init__(self, x):
        self.mean, self.scale = x.mean(0), np.maximum(1e-6, x.std(0))
        rnd = np.random.RandomState(1)
        n = x.shape[1]
        self.p = [rnd.randn(HIDDEN, n) / np.sqrt(n), np.zeros(HIDDEN), rnd.randn(HIDDEN) / np.sqrt(HIDDEN), np.zeros(1)]

    def normal(self, x):
        return np.clip((x - self.mean) / self.scale, -4, 4)

    def forward(self, x):
        hidden = np.tanh(x @ self.p[0].T + self.p[1])
        return hidden, 1 / (1 + np.exp(-np.clip(hidden @ self.p[2] + self.p[3], -30, 30)))

    def train(self, x, y, weight, epochs=30, batch=128):
        """Adam, decaying."""
        rnd, x = np.random.RandomState(2), self.normal(x)
        m, v, step = [np.zeros_like(q) for q in self.p], [np.zeros_like(q) for q in self.p], 0
        for epoch in range(epochs):
            order, rate = rnd.permutation(len(x)), 0.004 * (1 - epoch / epochs)
            for b in range(0, len(x), batch):
                at = order[b:b + batch]
                hidden, out = self.forward(x[at])
                d = (out - y[at]) * weight[at] / len(at)
                e = np.outer(d, self.p[2]) * (1 - hidden ** 2)
                g = [e.T @ x[at] + 2e-3 * self.p[0], e.sum(0), hidden.T @ d + 2e-3 * self.p[2], np.array([d.sum()])]
                step += 1
                for i in range(4):
                    m[i] = 0.9 * m[i] + 0.1 * g[i]
                    v[i] = 0.999 * v[i] + 0.001 * g[i] ** 2
                    self.p[i] = self.p[i] - rate * (m[i] / (1 - 0.9 ** step)) / (np.sqrt(v[i] / (1 - 0.999 ** step)) + 1e-8)


def auc(outs, labels):
    order = np.argsort(np.argsort(outs))
    inside = labels == 1
    return (order[inside].sum() - inside.sum() * (inside.sum() - 1) / 2) / (inside.sum() * (~inside).sum())


def report(name, net, rows):
    if not rows:
        return
    x, y = np.array([f for f, _ in rows]), np.array([l for _, l in rows])
    out = net.forward(net.normal(x))[1]
    words = [f"{name}:"]
    for label, word in ((0, "outside called surely inside (>= .75)"), (1, "inside called outside or unsure (< .75)")):
        some = out[y == label]
        if len(some):
            words.append(f"{word} {int(((some >= .75) != label).sum())} of {len(some)};")
    if len(set(y)) == 2:
        words.append(f"AUC {auc(out, y):.4f}")
    print(" ".join(words))


def write(net, out):
    def lines(values):
        values = list(values)
        return ",\n    ".join(", ".join(f"{v:.4g}" for v in values[i:i + 64]) for i in range(0, len(values), 64))

    parts = [("kMean", net.mean), ("kScale", net.scale), ("kHidden", net.p[0].ravel()), ("kHiddenBias", net.p[1]), ("kOut", net.p[2])]
    with open(out, "w") as f:
        f.write("// Made by recipe/train.py: the net that tells inside (1) from outside (0) of an ear.\n"
                "// kHidden: one row of weights for each hidden unit. Inputs: view_features.hpp, then view_net.hpp.\n#pragma once\n\n"
                "namespace canalogue::view::weights {\n\n"
                f"inline constexpr int kUnits = {HIDDEN};\n")
        for name, values in parts:
            f.write(f"inline constexpr double {name}[] = {{\n    {lines(values)}}};\n")
        f.write(f"inline constexpr double kOutBias = {net.p[3][0]:.6g};\n\n}}  // namespace canalogue::view::weights\n")


def main():
    p = argparse.ArgumentParser()
    for name in ("features", "models", "sessions", "out"):
        p.add_argument("--" + name, required=True)
    p.add_argument("--ear-stills")
    p.add_argument("--demo", action="append", default=[], help="recordings of a demo session")
    a = p.parse_args()
    tool = (a.features, a.models)
    outside = sorted(f for e in ("jpg", "png", "avi") for f in glob.glob(f"{OUTSIDE}/**/*." + e, recursive=True) if not any(w in f.lower() for w in SHOWN_IN_SESSIONS))
    train_out, held_out = pictures(tool, outside, 0, 8, True, 3)
    train_in, held_in = pictures(tool, sorted(glob.glob(f"{a.ear_stills}/*.jpg")), 1, 16, False, 2) if a.ear_stills else ([], [])
    folders = sorted(glob.glob(f"{a.sessions}/*/truth.json"))
    train_drawn = [r for i, f in enumerate(folders) if i % 6 for r in session(tool, os.path.dirname(f), 3)]
    held_drawn = [r for i, f in enumerate(folders) if i % 6 == 0 for r in session(tool, os.path.dirname(f), 0)]
    train_demo = [r for f in a.demo for r in demo(tool, f, 2)]
    groups = [train_drawn, train_out, train_in, train_demo]
    rows = [r for g in groups for r in g]
    x, y = np.array([f for f, _ in rows]), np.array([l for _, l in rows], float)
    # Each source and class weighs alike, what is outside a little more: it must not be let through.
    weight = np.zeros(len(rows))
    start = 0
    for g in groups:
        part = slice(start, start + len(g))
        for label, share in ((0, 1.5), (1, 1.0)):
            chosen = y[part] == label
            if chosen.any():
                weight[part] += chosen * share / chosen.sum()
        start += len(g)
    weight *= len(rows) / weight.sum()
    net = Net(x)
    net.train(x, y, weight)
    print(f"trained on {len(train_drawn)} drawn, {len(train_out)} of photographs, {len(train_in)} of ears")
    report("demo, trained on", net, train_demo)
    report("drawn, trained on", net, train_drawn)
    report("drawn, held back", net, held_drawn)
    report("photographs and ears, held back", net, held_out + held_in)
    write(net, a.out)


main()
