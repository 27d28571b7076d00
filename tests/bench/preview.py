"""Whether what is played in the window keeps up: a recording of 1080p at 30 pictures a second on the Session desk as it will
be shown (covers laid), and a film of it at its own pace on the Clip desk (covers, labels, strip, captions, voice). Covered pictures are never left out, so
the Session desk is judged by how fast the film runs; the Clip desk leaves late frames out and is judged by how many are shown."""
import json, os, shutil, signal, socket, subprocess, time

SECONDS, RATE = 20, 30


class Window:
    """The editor on a display of its own, with a log of what each drawing showed."""

    def __init__(self, program, library, work):
        self.display = subprocess.Popen(["Xvfb", "-displayfd", "1", "-screen", "0", "1366x768x24", "-nolisten", "tcp"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        self.env = dict(os.environ, DISPLAY=":" + self.display.stdout.readline().decode().strip(), PULSE_SERVER="none")
        self.log, at = os.path.join(work, "preview.frames"), os.path.join(work, "preview.probe")
        self.process = subprocess.Popen([program, "full", "--library", library, "--window", "1366x768", "--probe", at, "--frame-log", self.log], env=self.env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        s = socket.socket(socket.AF_UNIX)
        while s.connect_ex(at):
            time.sleep(0.05)
        self.probe = s.makefile("rw")

    def find(self, name):
        self.probe.write("find " + name + "\n")
        self.probe.flush()
        return json.loads(self.probe.readline())

    def wait(self, name):
        end = time.monotonic() + 60
        while self.find(name).get("missing", False) or not self.find(name).get("w"):
            if time.monotonic() > end:
                self.stop()
                raise SystemExit("The window does not show '%s'." % name)
            time.sleep(0.1)

    def wait_idle(self):
        """Until what is done once for a recording (its reduced copy, measuring) is done."""
        end = time.monotonic() + 120
        while time.monotonic() < end:
            self.probe.write("idle\n")
            self.probe.flush()
            if json.loads(self.probe.readline()).get("idle"):
                return
            time.sleep(0.2)
        self.stop()
        raise SystemExit("The window does not come to rest.")

    def key(self, name):
        subprocess.run(["xdotool", "key", name], env=self.env, check=True)

    def click(self, name):
        self.wait(name)
        at = self.find(name)
        subprocess.run(["xdotool", "mousemove", str(int(at["x"] + at["w"] / 2)), str(int(at["y"] + at["h"] / 2)), "sleep", "0.1", "click", "1"], env=self.env, check=True)

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        self.process.wait()
        self.display.terminate()
        self.display.wait()
        return [tuple(map(float, line.split())) for line in open(self.log)]


def of_session(lines):
    """(share of the pictures shown, seconds of film in a second)."""
    rows = [b for a, b in zip(lines, lines[1:]) if 0 < b[4] - a[4] < 0.4]
    shown = {round(row[2] * RATE) for row in rows}
    return len(shown) / (max(shown) - min(shown) + 1), (rows[-1][4] - rows[0][4]) / (rows[-1][1] - rows[0][1])


def of_film(lines):
    """(share of the frames shown, share shown no later than a frame's time, frames a second)."""
    rows = [row for row in lines if row[6] >= 0]
    rate, first = rows[-1][8], {}
    for row in rows:
        first.setdefault(int(row[6]), row[7])
    count = max(first) - min(first) + 1
    return len(first) / count, sum(at < (n + 2) / rate for n, at in first.items()) / count, rate


def run(root, work, recording, note):
    program, editor = os.path.join(root, "build/bin/canalogue"), os.path.join(root, "build/bin/canalogue-editor")
    large = os.path.join(work, "full-hd.mp4")
    if not os.path.exists(large):
        subprocess.run(["ffmpeg", "-nostdin", "-v", "error", "-y", "-i", recording, "-t", str(SECONDS + 5), "-vf", "scale=1920:1080,fps=%d" % RATE,
                        "-c:v", "libx264", "-preset", "medium", "-crf", "20", "-g", "60", "-an", large], check=True)
    library = os.path.join(work, "preview-library")
    shutil.rmtree(library, ignore_errors=True)

    def do(*words):
        subprocess.run([program, *words, "--library", library], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    do("import", "--session", "full", "--ear", "right", large)
    open(os.path.join(library, "settings.json"), "w").write('{"author":"bench","toured":true}')
    for box in ["24,12,600,120", "1380,12,510,96", "36,990,450,60"]:
        do("cover", "full", "--box", box, "--from", "0", "--until", str(SECONDS + 4))
    do("scan", "full")  # or all of it would be covered, and there would be no boxes to lay
    for at in range(2, SECONDS, 3):
        do("tag", "full", "piece-removed", "--at", str(at), "--set", "material=hard wax")
    do("tag", "full", "drum-visible", "--at", str(SECONDS - 1), "--set", "view=all")
    plan = os.path.join(work, "preview-plan.json")
    open(plan, "w").write(json.dumps({"canalogue_plan": 1, "title": "What the preview keeps up with", "film": {"frames_per_second": RATE}, "items": [
        {"card": "title", "title": "As it was filmed", "length": "0:02"},
        {"recording": "r1", "ear": "right", "from": "0:01", "until": "0:%d" % (SECONDS + 4), "chapter": "Right ear", "narration": ["Wax is drawn out piece by piece.", "Then the drum is seen."],
         "labels": [{"from": "0:03", "until": "0:08", "text": "Hard wax"}]}]}))
    do("plan", "full", "--check", plan, "--keep")

    window = Window(editor, library, work)
    window.wait("picture")
    window.wait_idle()
    window.click("look Covered")
    time.sleep(1)
    window.key("space")
    time.sleep(SECONDS - 2)
    window.key("space")
    share, speed = of_session(window.stop())
    note("preview: pictures of 1080p30 shown on the Session desk, covered", share, "share", ">= 0.98", share >= 0.98)
    note("preview: seconds of film in a second there", speed, "ratio", ">= 0.98", speed >= 0.98)

    window = Window(editor, library, work)
    window.wait("picture")
    window.key("F4")
    window.wait("film length")
    window.wait_idle()
    window.key("v")
    time.sleep(SECONDS + 6)
    window.key("v")
    time.sleep(0.5)
    share, in_time, rate = of_film(window.stop())
    note("preview: frames of the film (%g a second) shown on the Clip desk" % rate, share, "share", ">= 0.98", share >= 0.98)
    note("preview: of them no later than a frame's time", in_time, "share", ">= 0.95", in_time >= 0.95)
