"""Runs the benchmarks; see docs/benchmarks.md. Everything is a ratio of two things timed in turn."""
import argparse, json, os, re, resource, shlex, shutil, statistics, subprocess, sys, time

parser = argparse.ArgumentParser()
parser.add_argument("root")
parser.add_argument("--only")
parser.add_argument("--rounds", type=int, default=9)
args = parser.parse_args()
root, work = args.root, os.path.join(args.root, "build/bench")
bench, program = os.path.join(root, "build/bin/canalogue-bench"), os.path.join(root, "build/bin/canalogue")
FONT = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf"
results = []


def note(name, value, unit, limit, holds):
    results.append({"name": name, "value": round(value, 4), "unit": unit, "limit": limit, "holds": bool(holds)})


def timed(command, **kw):
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, **kw)
    return time.perf_counter() - start


def peak_kb(command):
    """Peak resident memory of one command, by the kernel's own account."""
    pid = os.fork()
    if pid == 0:
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1)
        os.dup2(null, 2)
        os.execvp(command[0], command)
    _, status, usage = os.wait4(pid, 0)
    if status:
        sys.exit("A benchmarked command failed: " + shlex.join(command))
    return usage.ru_maxrss


def recording():
    folder = os.path.join(work, "demo/recordings")
    if not os.path.exists(os.path.join(folder, "truth.json")):
        subprocess.run([program, "demo", "--recordings-only", "--out", os.path.join(work, "demo")], check=True)
    return os.path.join(folder, json.load(open(os.path.join(folder, "truth.json")))["recordings"][0]["file"])


GRAPH = ("[0:v]split=4[b][x1][x2][x3];[x1]crop=448:128:0:0,boxblur=12[y1];[x2]crop=384:96:896:0,boxblur=12[y2];"
         "[x3]crop=384:80:0:640,boxblur=12[y3];[b][y1]overlay=0:0[c];[c][y2]overlay=896:0[d];[d][y3]overlay=0:640[e];"
         "[e]drawbox=x=0:y=624:w=1280:h=96:color=0x14262C:t=fill,"
         "drawtext=text='Session %{pts\\:hms}':x=1060:y=634:fontsize=20:fontcolor=0xD9E4E2:fontfile=" + FONT + "[v]")
CODEC = "-c:v libx264 -preset medium -crf 20 -threads 4 -x264-params mbtree=0:stitchable=1 -g 50".split()


def ssim(text):
    return float(re.search(r"All:([0-9.]+)", text).group(1))


def film():
    """Decode, cover, compose and encode against the ffmpeg program's decode, blur, band, text and encode."""
    source, seconds = recording(), "20"
    ours, theirs = os.path.join(work, "ours.mp4"), os.path.join(work, "theirs.mp4")
    our_command = [bench, "film", source, ours, seconds, "below", "25"]
    their_command = ["ffmpeg", "-nostdin", "-v", "error", "-y", "-t", seconds, "-i", source, "-an", "-filter_complex", GRAPH, "-map", "[v]", *CODEC, theirs]
    print("ffmpeg's command:\n  " + shlex.join(their_command))
    timed(our_command), timed(their_command)
    ratios = []
    for i in range(args.rounds):
        # The order changes, so that neither always runs on a warmer machine.
        a, b = (timed(our_command), timed(their_command)) if i % 2 else reversed((timed(their_command), timed(our_command)))
        ratios.append(b / a)
    raw = subprocess.Popen([bench, "raw", source, seconds, "below", "25"], stdout=subprocess.PIPE)
    ours_ssim = ssim(subprocess.run(["ffmpeg", "-nostdin", "-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", "1280x720", "-r", "25", "-i", "-", "-i", ours, "-lavfi", "ssim", "-f", "null", "-"],
                                    stdin=raw.stdout, capture_output=True, text=True).stderr)
    theirs_ssim = ssim(subprocess.run(["ffmpeg", "-nostdin", "-t", seconds, "-i", source, "-i", theirs, "-filter_complex", GRAPH + ";[v][1:v]ssim[s]", "-map", "[s]", "-f", "null", "-"],
                                      capture_output=True, text=True).stderr)
    note("film: speed against ffmpeg, median of %d pairs" % args.rounds, statistics.median(ratios), "ratio", ">= 0.97", statistics.median(ratios) >= 0.97)
    note("film: SSIM of ours to its own uncoded frames", ours_ssim, "", "", True)
    note("film: SSIM of ffmpeg's to its own uncoded frames", theirs_ssim, "", "", True)
    note("film: SSIM ours minus ffmpeg's", ours_ssim - theirs_ssim, "", "within 0.002, or better", ours_ssim - theirs_ssim > -0.002)


def again():
    """A clip of ten passages after a change of one line, against the whole of it; to where the check begins."""
    source, cache, out = recording(), os.path.join(work, "passages"), os.path.join(work, "again")
    command = lambda words: [bench, "clip", source, out, cache, words]
    seconds = lambda words: float(subprocess.run(command(words), check=True, capture_output=True, text=True).stdout)
    print("the program's command:\n  " + shlex.join(command("Words of the line.")))
    ratios = []
    for i in range(args.rounds):
        shutil.rmtree(cache, ignore_errors=True)
        whole = seconds("The canal of the right ear is looked at again.")
        ratios.append(whole / seconds("The canal is now looked at for the time number %d." % (i + 2)))
    note("again: one line of ten passages changed, times as fast, median of %d" % args.rounds, statistics.median(ratios), "ratio", ">= 6", statistics.median(ratios) >= 6)


def shares():
    """Processor time that is neither decoding nor encoding, where encoding costs little (preset veryfast)."""
    command = [bench, "shares", recording(), "10", "veryfast"]
    print("the program's command:\n  " + shlex.join(command))
    found = []
    for i in range(args.rounds):
        everything, pictures, rest = (float(v) for v in subprocess.run(command, check=True, capture_output=True, text=True).stdout.split())
        found.append((pictures + rest) / everything)
    note("shares: neither decoding nor encoding, median of %d" % args.rounds, statistics.median(found), "share", "<= 0.1", statistics.median(found) <= 0.1)


def until_first_line(command, **kw):
    """From starting a command to its first line; the command is then killed."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, **kw)
    process.stdout.readline()
    took = time.perf_counter() - start
    process.kill()
    process.wait()
    return took


def first_frame():
    """From starting `canalogue import` to its first line (facts of a decoded first frame) on an hour of film."""
    hour = os.path.join(work, "hour.mp4")
    if not os.path.exists(hour):
        minute = os.path.join(work, "minute.mp4")
        subprocess.run(["ffmpeg", "-nostdin", "-v", "error", "-y", "-f", "lavfi", "-i", "testsrc2=size=1280x720:rate=25:duration=60", "-c:v", "libx264", "-preset", "ultrafast", "-g", "50", minute], check=True)
        subprocess.run(["ffmpeg", "-nostdin", "-v", "error", "-y", "-stream_loop", "59", "-i", minute, "-c", "copy", hour], check=True)

    ratios = []
    for i in range(args.rounds + 1):
        library = os.path.join(work, "import-library")
        shutil.rmtree(library, ignore_errors=True)
        ours = until_first_line([program, "import", "--library", library, "--session", "b%d" % i, "--ear", "right", hour])
        bare = until_first_line([bench, "bare", hour])
        if i:
            ratios.append(ours / bare)
    note("import: to the first frame of an hour, against bare libav", statistics.median(ratios), "ratio", "<= 1.5", statistics.median(ratios) <= 1.5)


def memory():
    """Peak memory of making a film from one minute and from one hour, narration included."""
    source = os.path.join(work, "still-hour.mp4")
    if not os.path.exists(source):
        subprocess.run(["ffmpeg", "-nostdin", "-v", "error", "-y", "-f", "lavfi", "-i", "testsrc2=size=1280x720:rate=10:duration=10", "-c:v", "libx264", "-preset", "ultrafast", "-g", "20", source + ".part.mp4"], check=True)
        subprocess.run(["ffmpeg", "-nostdin", "-v", "error", "-y", "-stream_loop", "359", "-i", source + ".part.mp4", "-c", "copy", source], check=True)
    out = os.path.join(work, "memory.mp4")
    minute = peak_kb([bench, "film", source, out, "60", "below", "10", "4"]) / 1024
    hour = peak_kb([bench, "film", source, out, "3600", "below", "10", "240"]) / 1024
    note("memory: film of a minute", minute, "MiB", "< 400", minute < 400)
    note("memory: film of an hour", hour, "MiB", "< 400", hour < 400)
    note("memory: hour over minute", hour / minute, "ratio", "about 1 (<= 1.3)", hour / minute <= 1.3)


def percentile(log, share, column=0, skip=30):
    times = sorted(float(line.split()[column]) for line in open(log).read().splitlines()[skip:])
    return times[min(len(times) - 1, int(len(times) * share))]


def editor():
    """The window: to the first picture, and how long its frames take with a session of 8 hours and 5,000 events."""
    import signal, socket

    editor_program, window_bench = os.path.join(root, "build/bin/canalogue-editor"), os.path.join(root, "build/bin/canalogue-bench-window")
    display = subprocess.Popen(["Xvfb", "-displayfd", "1", "-screen", "0", "1366x768x24", "-nolisten", "tcp"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    env = dict(os.environ, DISPLAY=":" + display.stdout.readline().decode().strip(), PULSE_SERVER="none")
    film_file, library = recording(), os.path.join(work, "editor-library")
    shutil.rmtree(library, ignore_errors=True)
    os.makedirs(library)
    subprocess.run([program, "import", "--library", library, "--session", "s1", "--ear", "right", film_file], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    settings = '{"author":"bench","toured":true}'
    open(os.path.join(library, "settings.json"), "w").write(settings)
    probe = os.path.join(work, "probe")

    def to_first_picture():
        if os.path.exists(probe):
            os.unlink(probe)
        start = time.perf_counter()
        process = subprocess.Popen([editor_program, "s1", "--library", library, "--window", "1366x768", "--probe", probe], env=env, stderr=subprocess.DEVNULL)
        while True:
            try:
                s = socket.socket(socket.AF_UNIX)
                s.connect(probe)
                break
            except OSError:
                time.sleep(0.002)
        f = s.makefile("rw")
        while True:
            f.write("find picture\n")
            f.flush()
            if json.loads(f.readline()).get("state"):
                break
        took = time.perf_counter() - start
        process.kill()
        process.wait()
        return took

    ratios = []
    for i in range(args.rounds + 1):
        other = os.path.join(work, "import-library")
        shutil.rmtree(other, ignore_errors=True)
        line = until_first_line([program, "import", "--library", other, "--session", "b", "--ear", "right", film_file])
        empty = until_first_line([window_bench, "window"], env=env)
        ours = to_first_picture()
        if i:
            ratios.append(ours / (line + empty))
    note("editor: to the first picture, against first line plus empty window", statistics.median(ratios), "ratio", "<= 2", statistics.median(ratios) <= 2)

    day = os.path.join(work, "day.mp4")
    if not os.path.exists(day):
        subprocess.run(["ffmpeg", "-nostdin", "-v", "error", "-y", "-f", "lavfi", "-i", "testsrc2=size=320x180:rate=5:duration=60", "-c:v", "libx264", "-preset", "ultrafast", "-g", "10", day + ".part.mp4"], check=True)
        subprocess.run(["ffmpeg", "-nostdin", "-v", "error", "-y", "-stream_loop", "479", "-i", day + ".part.mp4", "-c", "copy", day], check=True)
    big = os.path.join(work, "big-library")
    shutil.rmtree(big, ignore_errors=True)
    subprocess.run([window_bench, "fill", big, "day", day, "5000"], check=True)
    open(os.path.join(big, "settings.json"), "w").write(settings)

    def frames(more, name, drive=None):
        log = os.path.join(work, name + ".frames")
        process = subprocess.Popen([editor_program, *more, "--window", "1366x768", "--always-draw", "--frame-log", log], env=env, stderr=subprocess.DEVNULL)
        time.sleep(4)
        if drive:
            drive()
        time.sleep(6)
        process.send_signal(signal.SIGTERM)
        process.wait()
        return log

    empty_library = os.path.join(work, "empty-library")
    shutil.rmtree(empty_library, ignore_errors=True)
    os.makedirs(empty_library)
    open(os.path.join(empty_library, "settings.json"), "w").write(settings)
    empty = frames(["--library", empty_library], "empty")
    full = frames(["day", "--library", big], "full", lambda: subprocess.run(["xdotool", "key", "space"], env=env, check=True))
    note("editor: frame p95, empty window", percentile(empty, 0.95), "ms", "", True)
    note("editor: frame p95, 8 hours and 5,000 events playing", percentile(full, 0.95), "ms", "", True)
    note("editor: the same, against the empty window", percentile(full, 0.95) / percentile(empty, 0.95), "ratio", "stated", True)

    def tagging():
        for key in ["space", "1", "6", "6", "ctrl+z", "ctrl+y", "F3", "F4", "F2"] * 2:
            subprocess.run(["xdotool", "key", key], env=env, check=True)
            time.sleep(0.25)

    busy = frames(["day", "--library", big], "busy", tagging)
    note("editor: longest frame while tagging in it", percentile(busy, 1.0), "ms", "", True)
    note("editor: most computing in one of those frames", percentile(busy, 1.0, column=5), "ms", "", True)
    note("editor: the longest, against the empty window's longest", percentile(busy, 1.0) / percentile(empty, 1.0), "ratio", "stated", True)
    display.terminate()


def sync():
    """Picture and sound together at every pace, after seeks and pauses, and in a loop."""
    import sync as bench_sync

    bench_sync.run(root, work, note)


def preview():
    """The window against the clock: is every picture of a 1080p30 film on the screen in time?"""
    import preview as bench_preview

    bench_preview.run(root, work, recording(), note)


benches = {"film": film, "again": again, "shares": shares, "import": first_frame, "memory": memory, "editor": editor, "preview": preview, "sync": sync}
if args.only and args.only not in benches:
    sys.exit("There is no benchmark '%s'; there are: %s" % (args.only, ", ".join(benches)))
for name, run in benches.items():
    if not args.only or args.only == name:
        run()
with open(os.path.join(work, "results.json"), "w") as f:
    json.dump(results, f, indent=2)
print("%-58s %10s %-6s %-24s %s" % ("name", "value", "unit", "limit", "holds"))
for r in results:
    print("%-58s %10.4f %-6s %-24s %s" % (r["name"], r["value"], r["unit"], r["limit"], "yes" if r["holds"] else "NO"))
sys.exit(0 if all(r["holds"] for r in results) else 1)
