"""A person at a terminal: reads the screen, answers by meaning, never by place.

    person = Person(program, ["start", "compression_test", "-m", "rookdale_van"], home)
    while (prompt := person.read()) is not None:
        person.answer(van_answers(prompt))

What is typed is kept in `acknowledged` once the program has come back to ask something else.
"""
import errno
import fcntl
import os
import pathlib
import pty
import re
import select
import signal
import struct
import termios
import time

PATIENCE_SECONDS = 30
# An Enter alone within 150 ms of the prompt is a key that bounced, and is not taken; nobody here has
# a hand to bounce, and a space shows it.
QUICK_ENTER = " \n"
ESCAPES = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]|\x1b[=>]|\x1b\][^\x07]*\x07")
MORE = re.compile(r"Enter for more > ?\n?")
CUE = re.compile(r"(?:^|\n)((?:\d+-\d+ |[^\s>]+ )?)> $")
CHOICE = re.compile(r" {4}(\d+)  (.*)")


def asked_words():
    """What is asked, in the words of the procedures that ship, by the name it is kept under."""
    asked = {}
    shipped = pathlib.Path(__file__).resolve().parent.parent.parent / "procedures"
    for file in sorted(shipped.glob("*.yaml")):
        for name, words in re.findall(r"^ *(\w+): *(?:\{ *)?\n? *ask: *([^,}>\n]+)$",
                                      file.read_text(), re.M):
            asked[words.strip()] = name.replace("_", " ")
    return dict(sorted(asked.items(), key=lambda item: -len(item[0])))


ASKED = asked_words()


def by_name(question):
    """"dry, cylinder 3" for "Highest reading, cylinder 3": tests hang on names, not on words."""
    for words, name in ASKED.items():
        rest = question[len(words):]
        if question.startswith(words) and (rest == "" or rest.startswith((",", " ("))):
            return name + rest
    return question


class Prompt:
    """What stands on the screen when the program waits."""

    def __init__(self, shown, cue):
        self.shown = shown            # everything since the last answer
        self.cue = cue.strip()        # "1-3", "bar" or ""
        self.choices = []             # in the order of the screen
        lines = shown.rstrip("\n").split("\n")
        self.question = ""
        begin = len(lines)
        while begin > 0 and lines[begin - 1].strip():
            begin -= 1
        block = lines[begin:]
        words = []
        for line in block:
            found = CHOICE.fullmatch(line) if "-" in self.cue else None
            if found and int(found.group(1)) == len(self.choices) + 1:
                self.choices.append(found.group(2))
            elif self.choices:
                self.choices[-1] += " " + line.strip()
            else:
                words.append(line.strip())
        self.question = " ".join(words)
        self.about = by_name(self.question)

    def number_of(self, words):
        return str(self.choices.index(words) + 1)

    def __repr__(self):
        return f"{self.question!r} {self.choices} [{self.cue}]"


class Stuck(Exception):
    pass


class Person:
    def __init__(self, program, arguments, environment, folder, columns=80, rows=40, echo=True):
        self.raw = b""                # everything the program ever wrote
        self.since = ""               # plain text since the last answer
        self.acknowledged, self.pending = [], None
        self.status = None
        self.pages = 0                # how often it was asked to go on with what it tells
        self.turned = 0               # what had come when it was asked last
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            try:
                os.chdir(folder)
                fcntl.ioctl(1, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
                if not echo:
                    modes = termios.tcgetattr(0)
                    modes[3] &= ~(termios.ECHO | termios.ICANON)
                    termios.tcsetattr(0, termios.TCSANOW, modes)
                os.execve(program, [program, *arguments], environment)
            finally:
                os._exit(127)

    # --- the screen ---

    def _take(self, timeout):
        """False when the program has closed its end."""
        ready, _, _ = select.select([self.terminal], [], [], timeout)
        if not ready:
            raise Stuck(f"nothing comes; on the screen: {self.since[-1500:]!r}")
        try:
            taken = os.read(self.terminal, 65536)
        except OSError as error:
            if error.errno != errno.EIO:
                raise
            taken = b""
        self.raw += taken
        return bool(taken)

    def _plain(self, begin):
        plain = ESCAPES.sub("", self.raw[begin:].decode("utf-8", "replace"))
        plain = plain.replace("\r\n", "\n").replace("\xa0", " ")
        # readline redraws a line from its first column; what stands there last counts
        return MORE.sub("", "\n".join(line.rsplit("\r", 1)[-1] or line.rstrip("\r")
                                      for line in plain.split("\n")))

    def transcript(self):
        return self._plain(0)

    def read(self):
        """The next prompt; None when the program has ended."""
        begin = self.begin = getattr(self, "next_begin", 0)
        end = time.monotonic() + PATIENCE_SECONDS
        while True:
            if self.raw.endswith(b"Enter for more > ") and len(self.raw) != self.turned:
                self.turned = len(self.raw)
                self.pages += 1
                os.write(self.terminal, QUICK_ENTER.encode())
            self.since = self._plain(begin)
            found = CUE.search(self.since)
            if found:
                if self.pending is not None:
                    self.acknowledged.append(self.pending)
                    self.pending = None
                return Prompt(self.since[:found.start()], found.group(1))
            if not self._take(max(0.0, end - time.monotonic())):
                self.since = self._plain(begin)
                self.wait()
                return None

    def read_page(self):
        """Until it asks to go on with what it tells; nobody turns that page."""
        while not self.raw.endswith(b"Enter for more > "):
            self._take(PATIENCE_SECONDS)
        self.turned = len(self.raw)

    def read_until(self, words, after_line=False):
        """Waits for words after the last answer; or after the line that shows it being typed."""
        end = time.monotonic() + PATIENCE_SECONDS
        while words not in (self._plain(getattr(self, "next_begin", 0)).partition("\n")[2]
                            if after_line else self._plain(getattr(self, "next_begin", 0))):
            if not self._take(max(0.0, end - time.monotonic())):
                raise Stuck(f"ended without {words!r}")

    # --- the keyboard ---

    def keys(self, keys):
        self.next_begin = len(self.raw)
        os.write(self.terminal, keys.encode())

    def type(self, line):
        self.pending = line
        self.keys(line + "\n" if line.strip() else QUICK_ENTER)

    def answer(self, line):
        if line is WAIT:
            self.next_begin = len(self.raw)
        else:
            self.type(line)

    def interrupt(self):
        self.keys("\x03")

    def end_input(self):
        self.keys("\x04")

    def resize(self, columns, rows=40):
        fcntl.ioctl(self.terminal, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    # --- how it ends ---

    def kill(self, number=signal.SIGKILL):
        os.kill(self.pid, number)

    def close_terminal(self):
        os.close(self.terminal)
        self.terminal = None

    def wait(self):
        """The exit status; minus the signal's number if one ended it."""
        end = time.monotonic() + PATIENCE_SECONDS
        while self.status is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid == self.pid:
                self.status = os.waitstatus_to_exitcode(status)
            elif time.monotonic() > end:
                self.kill()
                os.waitpid(self.pid, 0)
                self.status = -signal.SIGKILL
                raise Stuck("it would not end")
            elif self.terminal is not None:
                # what is written must be read, or the writer waits for ever
                ready, _, _ = select.select([self.terminal], [], [], 0.01)
                if ready:
                    try:
                        self.raw += os.read(self.terminal, 65536)
                    except OSError:
                        time.sleep(0.005)
            else:
                time.sleep(0.01)
        self.since = self._plain(getattr(self, "next_begin", 0))
        return self.status

    def leave(self):
        """Whatever state it is in: ended, and the terminal closed."""
        if self.status is None:
            try:
                self.kill()
                os.waitpid(self.pid, 0)
            except (ProcessLookupError, ChildProcessError):
                pass
            self.status = -signal.SIGKILL
        if self.terminal is not None:
            self.close_terminal()


# --- what the person knows about the demo job ----------------------------------------------

WAIT = object()     # type nothing: the program asks anew by itself

GOOD_WORDS = {
    "hand-warm", "stayed where it was laid", "lever swings free from side to side", "stayed put",
    "stayed still", "applied", "warm and the hand can stay", "none", "nothing", "dry",
    "nobody and nothing", "turned without firing", "freely", "on the tray", "shut by itself",
    "the pump for a moment, no smell", "the engine stands outdoors", "runs", "within five seconds",
    "out", "uneven", "not begun", "go on with the work", "over the eyes, seen clearly",
    "a guarded nozzle at 2 bar or less", "in my pocket",
}

READINGS = {
    ("Odometer", "", ""): "84210 km",
    ("altitude", "", ""): "240",
    ("rest voltage", "", ""): "12,52",
    ("cranking voltage", "", ""): "10.61 V",
    ("yardstick before", "", "1"): "11.6", ("yardstick before", "", "2"): "11.7 bar",
    ("first stroke", "1", ""): "5.4", ("first stroke", "2", ""): "5.2",
    ("first stroke", "3", ""): "2.9", ("first stroke", "4", ""): "5.3",
    ("dry", "1", "1"): "11.6 bar", ("dry", "1", "2"): "11.7",
    ("dry", "2", "1"): "11.4", ("dry", "2", "2"): "11.5",
    ("dry", "3", "1"): "8.1", ("dry", "3", "2"): "8.3",
    ("dry", "4", "1"): "11,6", ("dry", "4", "2"): "168 psi",
    ("strokes", "1", ""): "6", ("strokes", "2", ""): "6",
    ("strokes", "3", ""): "6", ("strokes", "4", ""): "6",
    ("yardstick after", "", "1"): "11.5", ("yardstick after", "", "2"): "11.4",
    ("oil dose", "3", ""): "5 mL",
    ("wet", "3", "1"): "10.2", ("wet", "3", "2"): "10.0",
}
READING = re.compile(r"(?P<name>[^,(]+)(?:, round \d)?(?:, cylinder (?P<place>\d))?"
                     r"(?: \((?P<repeat>\d) of \d\))?(?:, in \S+)?")


def reading_asked(prompt):
    """("dry", "3", "1") for "dry, cylinder 3 (1 of 2), in bar"; None if none is asked."""
    found = READING.fullmatch(prompt.about)
    if not found:
        return None
    return (found["name"], found["place"] or "", found["repeat"] or "")


def van_answers(prompt):
    """What the demo job's person answers, by what the screen says; for tests to override."""
    question = prompt.question
    if prompt.choices:
        if prompt.about.startswith("plug look"):
            return prompt.number_of("oily black" if "cylinder 3" in question else "dry tan")
        known = [words for words in prompt.choices if words in GOOD_WORDS]
        if len(known) != 1:
            raise Stuck(f"which of {known}? {prompt}; shown: {prompt.shown[-1500:]}")
        return prompt.number_of(known[0])
    if "to go, until" in question:
        return WAIT
    if question.startswith("Enter when"):
        return ""
    if question.startswith("Torque"):
        return "21"
    if question.startswith("Leave one thing") or question.startswith("You left this"):
        return "the key on the dash"
    if "count them" in question:
        return "1"
    asked = reading_asked(prompt)
    if asked in READINGS:
        return READINGS[asked]
    raise Stuck(f"nobody knows an answer to {prompt}; shown: {prompt.shown[-1500:]}")
