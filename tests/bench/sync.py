"""Picture against sound: a film that flashes and beeps at the same instants, played in the window over a private
PulseAudio whose null sink is recorded. Both are told by one clock, the system's monotonic one."""
import array, json, os, shutil, signal, socket, statistics, subprocess, sys, threading, time

RATE = 48000
PERIOD = 1.0       # seconds of film from one flash and beep to the next
LENGTH = 120       # seconds of film
PACES = [0.25, 0.5, 1, 2, 4]
LIMIT = 40         # milliseconds


def make_film(path):
    """Black, 25 frames a second; each second's first frame is white and a tone of 1 kHz begins with it."""
    if os.path.exists(path):
        return
    subprocess.run(["ffmpeg", "-nostdin", "-v", "error", "-y",
                    "-f", "lavfi", "-i", "color=black:s=640x360:r=25:d=%d,drawbox=t=fill:color=white:enable='eq(mod(n,25),0)'" % LENGTH,
                    "-f", "lavfi", "-i", "aevalsrc='if(lt(mod(t,1),0.3),0.5*sin(2*PI*1000*t),0)':s=%d:d=%d" % (RATE, LENGTH),
                    "-c:v", "libx264", "-preset", "veryfast", "-g", "50", "-pix_fmt", "yuv420p", "-c:a", "aac", "-b:a", "160k", path], check=True)


class Pulse:
    """A sound server of its own with one sink, which plays into nothing at the pace of the clock."""

    def __init__(self, folder):
        shutil.rmtree(folder, ignore_errors=True)
        os.makedirs(os.path.join(folder, "run"), mode=0o700)
        at = os.path.join(folder, "native")
        self.env = dict(os.environ, HOME=folder, XDG_RUNTIME_DIR=os.path.join(folder, "run"), PULSE_RUNTIME_PATH=os.path.join(folder, "run"), PULSE_SERVER="unix:" + at)
        # PortAudio's default device becomes ALSA's pulse plug-in.
        with open(os.path.join(folder, ".asoundrc"), "w") as f:
            f.write("pcm.!default { type pulse }\nctl.!default { type pulse }\n")
        self.process = subprocess.Popen(
            ["pulseaudio", "-n", "--daemonize=no", "--system=false", "--use-pid-file=false", "--exit-idle-time=-1", "--disallow-exit", "--realtime=false", "--high-priority=false",
             "-L", "module-native-protocol-unix socket=%s auth-anonymous=1" % at, "-L", "module-null-sink sink_name=ears rate=%d channels=2" % RATE],
            env=self.env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        end = time.monotonic() + 10
        while subprocess.run(["pactl", "info"], env=self.env, capture_output=True).returncode:
            if time.monotonic() > end or self.process.poll() is not None:
                self.stop()
                sys.exit("The private PulseAudio does not start: are pulseaudio and libasound2-plugins installed?")
            time.sleep(0.1)

    def stop(self):
        self.process.kill()
        self.process.wait()


class Monitor:
    """Records what the sink plays."""

    def __init__(self, pulse):
        self.process = subprocess.Popen(["parec", "--device=ears.monitor", "--format=s16le", "--rate=%d" % RATE, "--channels=1", "--latency-msec=5", "--raw"],
                                        env=pulse.env, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        self.sound, self.arrivals = bytearray(), []
        self.thread = threading.Thread(target=self.listen, daemon=True)
        self.thread.start()

    def listen(self):
        while True:
            piece = os.read(self.process.stdout.fileno(), 65536)
            if not piece:
                return
            self.sound += piece
            self.arrivals.append((time.monotonic(), len(self.sound) // 2))

    def stop(self):
        self.process.terminate()
        self.process.wait()
        self.thread.join()
        # A piece arrives when its last sample has been played, or later: the earliest of some seconds tells when
        # sample 0 would have been. (The null sink's clock counts whole microseconds, so it drifts a little.)
        begins = [(count / RATE, at - count / RATE) for at, count in self.arrivals]
        self.zeros = {}
        for at, zero in begins:
            part = int(at // 2)
            self.zeros[part] = min(zero, self.zeros.get(part, zero))
        parts = sorted(self.zeros)
        self.unsure = max((abs(self.zeros[a] - self.zeros[b]) for a, b in zip(parts, parts[1:])), default=0)

    def clock(self, at):
        """The monotonic clock's time of what stands `at` seconds in the recording."""
        return at + self.zeros.get(int(at // 2), self.zeros[max(self.zeros)])

    def onsets(self):
        """When each tone begins, in seconds of the monotonic clock."""
        samples, block = array.array("h", bytes(self.sound[:len(self.sound) // 2 * 2])), RATE // 1000
        loud = [max(max(b), -min(b)) for b in (samples[i:i + block] for i in range(0, len(samples) - block, block))]
        if not loud or max(loud) < 300:
            return []
        threshold, silent, out = max(loud) * 0.3, 1000, []
        for i, level in enumerate(loud):
            if level > threshold:
                if silent > 60:
                    out.append(self.clock(i / 1000))
                silent = 0
            else:
                silent += 1
        return out


class Editor:
    """The window on a display of its own, driven as a person would."""

    def __init__(self, program, library, pulse, work):
        self.display = subprocess.Popen(["Xvfb", "-displayfd", "1", "-screen", "0", "1366x768x24", "-nolisten", "tcp"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        self.env = dict(pulse.env, DISPLAY=":" + self.display.stdout.readline().decode().strip())
        self.log, at = os.path.join(work, "sync.frames"), os.path.join(work, "sync.probe")
        self.process = subprocess.Popen([program, "flash", "--library", library, "--window", "1366x768", "--probe", at, "--frame-log", self.log], env=self.env, stderr=subprocess.DEVNULL)
        s = socket.socket(socket.AF_UNIX)
        while s.connect_ex(at):
            time.sleep(0.05)
        self.probe = s.makefile("rw")
        while not self.find("picture").get("state"):
            time.sleep(0.05)

    def ask(self, question):
        self.probe.write(question + "\n")
        self.probe.flush()
        return json.loads(self.probe.readline())

    def find(self, name):
        return self.ask("find " + name)

    def xdo(self, *words):
        subprocess.run(["xdotool", *map(str, words)], env=self.env, check=True)

    def key(self, *keys):
        self.xdo("key", *keys)
        time.sleep(0.15)

    def click(self, name):
        at = self.find(name)
        self.xdo("mousemove", int(at["x"] + at["w"] / 2), int(at["y"] + at["h"] / 2), "sleep", "0.1", "click", "1")
        time.sleep(0.2)

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        self.process.wait()
        self.display.terminate()
        self.display.wait()

    def frames(self):
        """(handed to the display, session time of the picture, when it was due, where the film stood), seconds"""
        return [tuple(map(float, line.split()[1:5])) for line in open(self.log)]


def flashes(frames, pace):
    """(due, shown) of each flash that the film ran into, by the monotonic clock: when it was to be on the screen, and
    when a picture of it or later had been handed to the display."""
    out, before = [], None
    due = None
    for shown_at, picture, chosen_for, stood in frames:
        if before:
            step = stood - before[3]
            if 0 <= step < 0.4 and int(stood / PERIOD) > int(before[3] / PERIOD):
                due = (chosen_for - (stood - int(stood / PERIOD) * PERIOD) / pace, int(stood / PERIOD) * PERIOD)
            elif not 0 <= step < 0.4:
                due = None
            if due and picture >= due[1] - 0.001 and picture < due[1] + 0.5:
                out.append((due[0], shown_at))
                due = None
        before = (shown_at, picture, chosen_for, stood)
    return out


def differences(pairs, beeps, pace):
    """Milliseconds by which the picture came after its sound: (due, shown) for each flash that has its beep."""
    out, near = [], PERIOD / pace / 2
    for due, shown in pairs:
        beep = min(beeps, key=lambda b: abs(b - due), default=None)
        if beep is not None and abs(beep - due) < near:
            out.append(((due - beep) * 1000, (shown - beep) * 1000))
    return out


def drive(editor):
    """Plays at every pace, then seeks, pauses and loops. (name, pace, from, until) by the monotonic clock."""
    phases = []

    def phase(name, pace, act):
        began = time.monotonic()
        act()
        phases.append((name, pace, began, time.monotonic()))

    def playing(seconds):
        editor.key("space")
        time.sleep(seconds)
        editor.key("space")

    editor.key("comma", "comma")
    for pace in PACES:
        editor.key("Home")
        phase("%g times" % pace, pace, lambda: playing(max(12, 9 / pace)))
        editor.key("period")
    editor.key("comma", "comma")

    def seeking():
        editor.key("space")
        for i in range(12):
            time.sleep(1.2)
            # In the silence between two tones: what the device still holds of the old place must not be taken for the new.
            while not 0.5 < int(editor.find("clock")["state"]) / 1e9 % 1 < 0.7:
                time.sleep(0.005)
            editor.key("shift+Right" if i % 3 else "shift+Left")
        time.sleep(1.5)
        editor.key("space")

    def pausing():
        for _ in range(8):
            playing(1.6)
            time.sleep(0.2)

    editor.key("Home")
    phase("after a seek", 1, seeking)
    phase("after a pause", 1, pausing)
    # A loop of a few seconds, drawn on the time map.
    editor.click("loop")
    where = editor.find("time map")
    y = int(where["y"] + where["h"] * 0.7)
    x = [int(where["x"] + where["w"] * share) for share in (0.40, 0.43)]
    editor.xdo("mousemove", x[0], y, "sleep", "0.1", "mousedown", "1", "sleep", "0.1", "mousemove", x[1], y, "sleep", "0.1", "mouseup", "1")
    time.sleep(0.3)
    phase("in a loop", 1, lambda: playing(24))
    return phases


def run(root, work, note):
    program, canalogue = os.path.join(root, "build/bin/canalogue-editor"), os.path.join(root, "build/bin/canalogue")
    film, library = os.path.join(work, "flash.mp4"), os.path.join(work, "sync-library")
    make_film(film)
    shutil.rmtree(library, ignore_errors=True)
    os.makedirs(library)
    subprocess.run([canalogue, "import", "--library", library, "--session", "flash", "--ear", "right", film], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    with open(os.path.join(library, "settings.json"), "w") as f:
        f.write('{"author":"bench","toured":true}')
    pulse = Pulse(os.path.join(work, "sync-home"))
    try:
        monitor = Monitor(pulse)
        editor = Editor(program, library, pulse, work)
        try:
            phases = drive(editor)
        finally:
            editor.stop()
        monitor.stop()
    finally:
        pulse.stop()
    frames, beeps = editor.frames(), monitor.onsets()
    print("sync: the recording's beginning is known within %.1f ms; %d beeps" % (monitor.unsure * 1000, len(beeps)))
    for name, pace, began, ended in phases:
        ran = flashes([f for f in frames if began <= f[0] <= ended], pace)
        found = differences(ran, beeps, pace)
        if os.environ.get("SYNC_DETAIL"):
            print(name, len(ran), ["%.0f/%.0f" % d for d in found])
        if not found:
            note("sync: %s, flashes that had a beep" % name, 0, "", "some", False)
            continue
        for i, kind in enumerate(["due", "shown"]):
            values = [d[i] for d in found]
            worst = max(values, key=abs)
            median = statistics.median(values)
            note("sync: %s, picture %s - sound, median of %d" % (name, kind, len(values)), median, "ms", "within %d" % LIMIT, abs(median) <= LIMIT)
            # When a picture really was on the display depends on how busy the machine is: stated.
            holds = abs(worst) <= LIMIT and len(found) >= len(ran) - 1
            note("sync: %s, picture %s - sound, worst" % (name, kind), worst, "ms", "within %d" % LIMIT if kind == "due" else "stated", holds or kind != "due")
