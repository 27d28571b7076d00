#!/usr/bin/env python3
"""Makes inside_weights.hpp: the small net that tells inside from outside of an ear.

    train.py --features build/bin/canalogue_view_features --canalogue build/bin/canalogue
             --work DIR [--ear-stills DIR] --out plugins/shared/inside_weights.hpp

Learns from drawn sessions (seeds 1 to 8, 21 and 22; 9 to 11 are held back), from pictures of opencv-doc (outside;
every second one is held back) and, when given, from stills of real ears (inside; every second one is
held back; --ear-stills is for calibration: no picture goes into the table). Needs ffmpeg and no Python
package. The same input gives the same table. Prints how often held-back pictures are told wrongly."""
import argparse, glob, json, math, os, random, subprocess

SECONDS = {**{s: 20 for s in range(1, 12)}, 21: 60, 22: 60}  # of the drawn sessions, by seed
TRAIN_SEEDS, HELD_SEEDS, HIDDEN, EDGE = [*range(1, 9), 21, 22], range(9, 12), 8, 0.2
OUTSIDE = "/usr/share/doc/opencv-doc/examples"


def features(tool, source, size, variants, seed, fps=None, rim=False):
    scale = f"scale={size[0]}:{size[1]}:flags=area"
    command = ["ffmpeg", "-v", "error", "-i", source, "-vf", (f"fps={fps}," if fps else "") + scale]
    raw = subprocess.run(command + ["-f", "rawvideo", "-pix_fmt", "rgb24", "-"], stdout=subprocess.PIPE, check=True)
    asked = [tool, *map(str, size), str(variants), str(seed)] + (["round"] if rim else [])
    out = subprocess.run(asked, input=raw.stdout, stdout=subprocess.PIPE, check=True).stdout.decode()
    return [[float(x) for x in line.split()] for line in out.splitlines()]


def drawn(a, seed, variants):
    folder = os.path.join(a.work, f"d{seed}")
    if not os.path.exists(f"{folder}/recordings/truth.json"):
        subprocess.run([a.canalogue, "demo", "--recordings-only", "--seed", str(seed), "--seconds", str(SECONDS[seed]),
                        "--out", folder], check=True, stdout=subprocess.DEVNULL)
    rows = []
    for r in json.load(open(f"{folder}/recordings/truth.json"))["recordings"]:
        found = features(a.features, f"{folder}/recordings/{r['file']}", (480, 270), variants, seed, fps=5)
        for i, f in enumerate(found):
            t = (i // (variants + 1)) / 5
            out = any(s["start"] <= t < s["end"] for s in r["outside"])
            if not out and any(abs(t - edge) < EDGE for s in r["outside"] for edge in (s["start"], s["end"])):
                continue  # where the scope has only just come back, or is about to leave, it is neither
            rows.append((f, 0 if out else 1))
    return rows


def pictures(tool, files, label, variants, rim):
    train, held = [], []
    for n, path in enumerate(files):
        try:
            probe = subprocess.run(["ffprobe", "-v", "error", "-select_streams", "v:0", "-show_entries",
                                    "stream=width,height", "-of", "csv=p=0", path], stdout=subprocess.PIPE, check=True)
            w, h = map(int, probe.stdout.decode().strip().split(",")[:2])
            if min(w, h) < 200:
                continue
            k = 480 / max(w, h)
            size = (max(2, round(w * k)), max(2, round(h * k)))
            (held if n % 2 else train).extend(
                (f, label) for f in features(tool, path, size, 2 if n % 2 else variants, n, rim=rim,
                                             fps=0.5 if path.endswith(".avi") else None))
        except (subprocess.CalledProcessError, ValueError):
            continue
    return train, held


class Net:
    """features -> HIDDEN tanh -> one logistic"""

    def __init__(self, rows):
        n = len(rows[0][0])
        columns = list(zip(*[f for f, _ in rows]))
        self.mean = [sum(c) / len(c) for c in columns]
        self.scale = [max(1e-6, math.sqrt(sum((x - m) ** 2 for x in c) / len(c))) for c, m in zip(columns, self.mean)]
        rnd = random.Random(1)
        self.p = [rnd.gauss(0, n ** -0.5) for _ in range(HIDDEN * n)] + [0.0] * HIDDEN
        self.p += [rnd.gauss(0, HIDDEN ** -0.5) for _ in range(HIDDEN)] + [0.0]
        self.n = n

    def normal(self, f):
        return [max(-4.0, min(4.0, (x - m) / s)) for x, m, s in zip(f, self.mean, self.scale)]

    def forward(self, x):
        n, p = self.n, self.p
        hidden = [math.tanh(sum(map(float.__mul__, p[j * n:(j + 1) * n], x)) + p[HIDDEN * n + j]) for j in range(HIDDEN)]
        at = HIDDEN * (n + 1)
        z = sum(h * w for h, w in zip(hidden, p[at:at + HIDDEN])) + p[-1]
        return hidden, 1 / (1 + math.exp(-max(-30, min(30, z))))

    def train(self, rows, epochs=40, batch=16):
        """Adam, decaying; the two classes weigh alike, letting the outside through twice as much."""
        rnd, n, at = random.Random(2), self.n, HIDDEN * (self.n + 1)
        inside = sum(y for _, y in rows)
        weight = {1: 0.5 * len(rows) / inside, 0: 1.0 * len(rows) / (len(rows) - inside)}
        data = [(self.normal(f), y) for f, y in rows]
        m, v, step = [0.0] * len(self.p), [0.0] * len(self.p), 0
        for epoch in range(epochs):
            rnd.shuffle(data)
            rate = 0.01 * (1 - epoch / epochs)
            for b in range(0, len(data), batch):
                g = [3e-3 * w for w in self.p]
                for x, y in data[b:b + batch]:
                    hidden, out = self.forward(x)
                    d = (out - y) * weight[y] / batch
                    g[-1] += d
                    for j, h in enumerate(hidden):
                        g[at + j] += d * h
                        e = d * self.p[at + j] * (1 - h * h)
                        g[HIDDEN * n + j] += e
                        o = j * n
                        g[o:o + n] = [gi + e * xi for gi, xi in zip(g[o:o + n], x)]
                step += 1
                c1, c2 = 1 - 0.9 ** step, 1 - 0.999 ** step
                m = [0.9 * a + 0.1 * b_ for a, b_ in zip(m, g)]
                v = [0.999 * a + 0.001 * b_ * b_ for a, b_ in zip(v, g)]
                self.p = [w - rate * a / c1 / (math.sqrt(b_ / c2) + 1e-8) for w, a, b_ in zip(self.p, m, v)]


def report(name, net, rows):
    for label, word in ((0, "outside called inside"), (1, "inside called outside or unsure")):
        outs = [net.forward(net.normal(f))[1] for f, y in rows if y == label]
        if outs:
            wrong = sum((o >= .5) != label for o in outs)
            print(f"{name}: {word}: {wrong} of {len(outs)}")


def write(net, out):
    def lines(values):
        return ",\n    ".join(", ".join(f"{v:.6g}" for v in values[i:i + 8]) for i in range(0, len(values), 8))

    n = net.n
    parts = [("kMean", net.mean), ("kScale", net.scale), ("kHidden", net.p[:HIDDEN * n]),
             ("kHiddenBias", net.p[HIDDEN * n:HIDDEN * (n + 1)]), ("kOut", net.p[HIDDEN * (n + 1):-1])]
    with open(out, "w") as f:
        f.write("// Made by recipe/train.py: the net that tells inside (1) from outside (0) of an ear.\n"
                "// kHidden: one row of weights for each hidden unit.\n#pragma once\n\n"
                "namespace canalogue::view::weights {\n\n"
                f"inline constexpr int kUnits = {HIDDEN};\n")
        for name, values in parts:
            f.write(f"inline constexpr double {name}[] = {{\n    {lines(values)}}};\n")
        f.write(f"inline constexpr double kOutBias = {net.p[-1]:.6g};\n\n}}  // namespace canalogue::view::weights\n")


def main():
    p = argparse.ArgumentParser()
    for name in ("features", "canalogue", "work", "out"):
        p.add_argument("--" + name, required=True)
    p.add_argument("--ear-stills")
    a = p.parse_args()
    outside = sorted(f for e in ("jpg", "png", "avi") for f in glob.glob(f"{OUTSIDE}/**/*." + e, recursive=True)
                     if not any(w in f.lower() for w in ("mask", "depth", "trimap", "matte", "segmented", "gt.", "chessboard")))
    train_out, held_out = pictures(a.features, outside, 0, 5, rim=True)
    train_in, held_in = pictures(a.features, sorted(glob.glob(f"{a.ear_stills}/*.jpg")), 1, 12, rim=False) if a.ear_stills else ([], [])
    train_drawn = [r for s in TRAIN_SEEDS for r in drawn(a, s, 1)]
    held_drawn = [r for s in HELD_SEEDS for r in drawn(a, s, 0)]
    # Drawn frames are many and alike: outside all, inside every fourth.
    train_drawn = [r for i, r in enumerate(train_drawn) if r[1] == 0 or i % 4 == 0]
    rows = train_out + train_in + train_drawn
    print(len(train_out), "outside pictures,", len(train_in), "inside stills,", len(train_drawn), "drawn frames")
    net = Net(rows)
    net.train(rows)
    report("learnt from", net, rows)
    report("drawn, held back", net, held_drawn)
    report("pictures, held back", net, held_out)
    report("ear stills, held back", net, held_in)
    write(net, a.out)


main()
