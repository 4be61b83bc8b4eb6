#!/usr/bin/env python3
"""Hostile uses of the built command: hostile.py LOWHISS SOURCES [GROUP...] | --self-test.

Each case runs the command and says what is wrong with what it did: its exit status, its messages, the
files that it left, and its outputs as the parser of each format reads them. A case whose command ends by
a signal, prints a control character or takes longer than its time fails in any group.

--self-test breaks the command on purpose in several ways, by a wrapper, and demands that the group that
guards against each way fails."""

import collections
import concurrent.futures
import csv
import html
import html.parser
import io
import itertools
import json
import os
import pathlib
import re
import shutil
import stat
import subprocess
import sys
import tempfile
import time
import unicodedata
import xml.parsers.expat

LONGEST_S = 60  # for one command; each takes far less on an idle machine
DIVIDER = """[parts]
R1 = { resistor = "1k", pins = ["in", "out"], tolerance = "1 %" }
R2 = { resistor = "10k", pins = ["out", "gnd"], tolerance = "1 %" }
[input]
plus = "in"
[output]
plus = "out"
[choose]
least = "ein"
parts = { R1 = ["1k", "2k"] }
"""


class Wrong(Exception):
    """The failure of a case."""


def require(truth, text):
    if not truth:
        raise Wrong(text)


Done = collections.namedtuple("Done", "status out err")


class Room:
    """A folder of its own for one case, and the command."""

    def __init__(self, command, sources, folder):
        self.command, self.sources, self.folder = command, pathlib.Path(sources), pathlib.Path(folder)

    def write(self, name, text):
        path = self.folder / name if isinstance(name, str) else os.path.join(os.fsencode(self.folder), name)
        with open(path, "wb") as file:
            file.write(text.encode() if isinstance(text, str) else text)
        return path

    def run(self, *words, status=None, says="", before="", environment=None, **more):
        """Runs the command, after what a shell is to do before; requires a status, and a text in what it
        prints. No preexec_fn: it may hang in a program with threads."""
        limited = dict(os.environ, **(environment or {}))
        limited.pop("CI", None)
        shell = ["bash", "-c", before + '; exec "$@"', "bash"] if before else []
        process = subprocess.Popen([*shell, self.command, *words], stdin=subprocess.DEVNULL,
                                   stdout=more.pop("stdout", subprocess.PIPE),
                                   stderr=more.pop("stderr", subprocess.PIPE), cwd=self.folder,
                                   env=limited, **more)
        try:
            out, err = (stream or b"" for stream in process.communicate(timeout=LONGEST_S))
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()
            raise Wrong(f"not done after {LONGEST_S} s: {words}") from None
        shown = f"{words}: status {process.returncode}\n{(out + err)[-1500:].decode(errors='replace')}"
        require(process.returncode >= 0, "ended by a signal: " + shown)
        require(b"internal error" not in err, "internal error: " + shown)
        fault = control_in(err) or (control_in(out) if b"\0" not in out[:64] else None)
        require(fault is None, f"prints {fault}: {shown}")
        if status is not None:
            require(process.returncode == status, f"status {status} expected: {shown}")
        require(says.encode() in out + err, f"'{says}' expected: {shown}")
        return Done(process.returncode, out, err)

    def state(self):
        """Every file with its content, its kind and its mode."""
        found = {}
        for folder, _, names in os.walk(os.fsencode(self.folder)):
            for name in names:
                path = os.path.join(folder, name)
                mode = os.lstat(path).st_mode
                content = open(path, "rb").read() if stat.S_ISREG(mode) else b""
                found[path] = (mode, content)
        return found

    def unchanged(self, before):
        after = self.state()
        for path in before.keys() | after.keys():
            require(before.get(path) == after.get(path), f"changed, removed or left behind: {path}")


def control_in(data):
    """The first character that would control a terminal, or None. Colours are off where nothing is a
    terminal."""
    text = data.decode("utf-8", errors="surrogateescape")
    for letter in text:
        code = ord(letter)
        hidden = code in (0x200B, 0x202E, 0xFEFF, 0xFFFE, 0xFFFF) or 0xDC80 <= code <= 0xDCFF
        if (unicodedata.category(letter) == "Cc" and letter not in "\n\t\r") or hidden:
            return f"U+{code:04X}"
    return None


GROUPS = collections.OrderedDict()


def group(function):
    """A generator of cases: pairs of a name and a function of a Room."""
    GROUPS[function.__name__] = function
    return function


# --- Outputs that would replace what is read. -------------------------------------------------------

# Every option of every command that writes a file, with the ending that it wants. A new one is found in
# the manual page and belongs here; one that the command has not is left out.
OUTPUTS = [
    ("sweep", "--json", ".json"), ("sweep", "--csv", ".csv"), ("sweep", "--plot", ".svg"),
    ("check", "--json", ".json"), ("check", "--junit", ".xml"), ("check", "--plot", ".svg"),
    ("check", "--summary", ".md"),
    ("compare", "--json", ".json"), ("compare", "--plot", ".svg"),
    ("tolerance", "--json", ".json"), ("tolerance", "--plot", ".svg"), ("tolerance", "--result", ".shard"),
    ("supply", "--json", ".json"), ("report", "--output", ".html"), ("inspect", "--graph", ".dot"),
    ("match", "--json", ".json"), ("match", "--junit", ".xml"),
    ("choose", "--json", ".json"), ("choose", "--apply", ".toml"),
    ("listen", "--json", ".json"), ("listen", "--output", ".wav"),
    ("fit", "--json", ".json"), ("fit", "--output", ".toml"), ("fit", "--plot", ".svg"),
    ("list", "--json", ".json"),
]
READS_NOTHING = {("describe", "--output"), ("tolerance", "--merge")}
HERE = pathlib.Path(__file__).resolve().parent
NETLISTS = HERE.parents[1] / "netlists"
BOARDS = {"compare": ["board.toml", "board.toml"], "match": ["board.toml", str(HERE / "divider.ipc")],
          "fit": [str(NETLISTS / "capsules/measured-200.csv")],
          "listen": ["board.toml", str(NETLISTS / "voices/pink.wav")], "list": ["opamps"]}
MORE = {"tolerance": ["--boards", "2"], "listen": ["--level", "-50 dBu"]}


def words_for(command, *more):
    return [command, *BOARDS.get(command, ["board.toml"]), *MORE.get(command, []), *more]


def options_of(page):
    """The options that take a file, of every command, out of the manual page."""
    found, command = set(), None
    for line in page.splitlines():
        heading = re.match(r'\.SS "(\w+)', line)
        command = heading.group(1) if heading else command
        option = re.match(r"\\fB(\\-\\-[^ ]*)\\fR \\fIFILE", line)
        if option:
            found.add((command, option.group(1).replace("\\", "")))
    return found


def leave_out_unknown_outputs(command):
    page = subprocess.run([command, "describe", "man"], capture_output=True, text=True, check=False).stdout
    there = options_of(page)
    OUTPUTS[:] = [output for output in OUTPUTS if output[:2] in there or not there]


def every_kind_of_input(room):
    """A board that reads one file of each kind."""
    (room.folder / "parts").mkdir()
    room.write("parts/base.toml", DIVIDER)
    room.write("parts/models.toml", '[opamp.quiet]\nopen_loop_gain = "100 dB"\ngain_bandwidth = "1 MHz"\n')
    shutil.copy(room.sources / "netlists/capsules/measured-200.csv", room.folder / "parts/coil.csv")
    shutil.copy(room.sources / "netlists/capsules/measured-300.s1p", room.folder / "parts/coil.s1p")
    room.write("parts/mask.csv", "frequency_hz,min,max\n100,-9,9\n1000,-9,9\n")
    room.write("board.toml", """[board]
based_on = "parts/base.toml"
include = ["parts/models.toml"]
[input]
capsule = "coil"
[capsule.coil]
kind = "measured"
file = "parts/coil.csv"
[capsule.other]
kind = "measured"
file = "parts/coil.s1p"
[[limit]]
name = "curve"
measure = "gain"
mask = "parts/mask.csv"
""")


@group
def replaced(_):
    """No output replaces a file that the run reads, whatever it is called."""
    inputs = ["board.toml", "parts/base.toml", "parts/models.toml", "parts/coil.csv", "parts/coil.s1p",
              "parts/mask.csv"]

    def case(room, command, option, ending, victim, link):
        every_kind_of_input(room)
        words = ["fit", "parts/coil.csv"] if command == "fit" else words_for(command)
        link(room.folder / victim, room.folder / ("out" + ending))
        before = room.state()
        room.run(*words, option, "out" + ending, status=2, says="would be replaced")
        room.unchanged(before)

    for command, option, ending in OUTPUTS:
        if command == "list":  # reads none
            continue
        if command == "fit":  # reads one file
            yield f"fit {option} is the measurement", lambda room, a=(command, option, ending,
                inputs[3]): case(room, *a, os.link)
            continue
        for victim in inputs:
            yield f"{command} {option} is {victim} by a hard link", lambda room, a=(command, option, ending,
                victim): case(room, *a, os.link)
        yield f"{command} {option} is the library by a symbolic link", lambda room, a=(command, option,
            ending, inputs[2]): case(room, *a, os.symlink)

    def baseline(room, output, record):
        room.write("board.toml", DIVIDER)
        room.run("check", "board.toml", "--record", status=0)
        os.link(room.folder / "board.baseline", room.folder / "out.json")
        before = room.state()
        room.run("check", "board.toml", output, "out.json", *record, status=2, says="would be replaced")
        room.unchanged(before)

    for output, record in itertools.product(["--json", "--junit"], [[], ["--record"]]):
        yield f"check {output} is the baseline {record}", lambda room, a=(output, record): baseline(room, *a)

    def recorded_over_library(room):
        every_kind_of_input(room)
        os.symlink("parts/models.toml", room.folder / "board.baseline")
        before = room.state()
        room.run("check", "board.toml", "--record", status=2)
        room.unchanged(before)

    def one_baseline_for_two(room):
        room.write("c", DIVIDER)
        room.write("c.toml", DIVIDER)
        before = room.state()
        room.run("check", "c", "c.toml", "--record", status=2, says="share the baseline")
        room.run("check", "c", "c.toml", "--limits-only", status=0)
        room.run("check", "c.toml", "./c.toml", status=0)
        room.unchanged(before)

    def over_a_result(room):
        room.write("board.toml", DIVIDER)
        room.run("tolerance", "board.toml", "--boards", "2", "--result", "x.shard", status=0)
        os.link(room.folder / "x.shard", room.folder / "x.json")
        before = room.state()
        room.run("tolerance", "--merge", "x.shard", "--json", "x.json", status=2, says="would be replaced")
        room.unchanged(before)

    def twice_the_same(room):
        room.write("board.toml", DIVIDER)
        room.run("sweep", "board.toml", "--json", "new", "--csv", "./new", status=2, says="two outputs")
        room.run("sweep", "board.toml", "--json", "/dev/null", "--csv", "/dev/null", status=0)

    yield "a baseline that is the library", recorded_over_library
    yield "one baseline for two boards", one_baseline_for_two
    yield "the report of a merge over a result", over_a_result
    yield "two outputs that are one file", twice_the_same

    def all_options_are_known(room):
        page = room.run("describe", "man", status=0).out.decode()
        known = {output[:2] for output in OUTPUTS} | READS_NOTHING
        new = options_of(page) - known
        require(not new, f"{new} not in OUTPUTS of this script")
        require(len(options_of(page)) >= 10, "the manual page has no options")

    yield "every option that takes a file is tested here", all_options_are_known


# --- Where outputs go. ------------------------------------------------------------------------------

@group
def outputs(_):
    """Pipes, devices, links, limits, names and modes."""
    texts = [entry for entry in OUTPUTS if entry[1] not in ("--result",)]

    def by_name(room, command, option, name):
        room.write("board.toml", DIVIDER)
        plain = room.run(*words_for(command, option, "-"), status=0).out
        named = room.run(*words_for(command, option, name), status=0).out
        require(plain == named, f"{name} has not what - has")
        joined = room.run(*words_for(command, f"{option}={name}"), status=0).out
        require(plain == joined, f"{name} has not what - has")

    def through_a_pipe(room, command, option, ending):
        room.write("board.toml", DIVIDER)
        room.run(*words_for(command, option, "good" + ending), status=0)
        good = (room.folder / ("good" + ending)).read_bytes()
        fifo = room.folder / ("fifo" + ending)
        os.mkfifo(fifo)
        with open(room.folder / "read", "wb") as file:
            reader = subprocess.Popen(["cat", fifo], stdout=file)
        room.run(*words_for(command, option, "fifo" + ending), status=0)
        reader.wait(timeout=LONGEST_S)
        require((room.folder / "read").read_bytes() == good, "the pipe has other bytes than a file")
        require(stat.S_ISFIFO(os.stat(fifo).st_mode), "the pipe was replaced")

    for command, option, ending in texts:
        yield f"{command} {option} /dev/stdout", lambda room, a=(command, option): by_name(room, *a,
                                                                                          "/dev/stdout")
        yield f"{command} {option} into a pipe", lambda room, a=(command, option, ending): through_a_pipe(
            room, *a)

    def appended(room):
        room.write("board.toml", DIVIDER)
        plain = room.run("sweep", "board.toml", "--json", "-", status=0).out
        with open(room.folder / "kept", "wb") as file:
            file.write(b"before\n")
            file.flush()
            room.run("sweep", "board.toml", "--json", "/dev/stdout", status=0, stdout=file)
        require((room.folder / "kept").read_bytes() == b"before\n" + plain, "standard output was replaced")

    def descriptor(room):
        room.write("board.toml", DIVIDER)
        plain = room.run("sweep", "board.toml", "--json", "-", status=0).out
        with open(room.folder / "kept", "wb") as file:
            room.run("sweep", "board.toml", "--quiet", "--json", f"/dev/fd/{file.fileno()}", status=0,
                     pass_fds=[file.fileno()])
        require((room.folder / "kept").read_bytes() == plain, "the descriptor has other bytes")

    def substituted(room):
        room.write("board.toml", DIVIDER)
        script = '"$0" sweep board.toml --quiet --json >(cat >got); for k in {1..100}; do [ -s got ] && break; sleep 0.1; done'
        subprocess.run(["bash", "-c", script, room.command], cwd=room.folder, check=True, timeout=LONGEST_S)
        plain = room.run("sweep", "board.toml", "--json", "-", status=0).out
        time.sleep(0.2)
        require((room.folder / "got").read_bytes() == plain, "the process got other bytes")

    yield "standard output that is a file", appended
    yield "an open descriptor", descriptor
    yield "a process as output", substituted

    def refused(room, says, name, command, option):
        room.write("board.toml", DIVIDER)
        before = room.state()
        room.run(*words_for(command, option, name), status=2, says=says)
        room.unchanged(before)

    for command, option, ending in OUTPUTS:
        yield f"{command} {option} of 300 letters", lambda room, a=("File name too long", "x" * 300 + ending,
            command, option): refused(room, *a)

        def looping(room, command=command, option=option, ending=ending):
            os.symlink("b" + ending, room.folder / ("a" + ending))
            os.symlink("a" + ending, room.folder / ("b" + ending))
            refused(room, "symbolic links", "a" + ending, command, option)

        def longest(room, command=command, option=option, ending=ending):
            room.write("board.toml", DIVIDER)
            name = "x" * (255 - len(ending)) + ending
            room.run(*words_for(command, option, name), status=0)
            require((room.folder / name).stat().st_size > 0, "nothing was written")
            require(len(list(room.folder.iterdir())) == 2, "something is left behind")

        def read_only(room, command=command, option=option, ending=ending):
            room.write("old" + ending, "old")
            os.chmod(room.folder / ("old" + ending), 0o444)
            refused(room, "Permission denied", "old" + ending, command, option)

        def limited(room, command=command, option=option, ending=ending):
            room.write("board.toml", DIVIDER)
            room.write("old" + ending, "old")
            before = room.state()
            room.run(*words_for(command, option, "old" + ending), status=2,
                     before="ulimit -f 0")
            room.unchanged(before)

        yield f"{command} {option} to a loop of links", looping
        yield f"{command} {option} of 255 letters", longest
        yield f"{command} {option} to a read-only file", read_only
        yield f"{command} {option} under a limit on files", limited

    def record_over_read_only(room):
        room.write("board.toml", DIVIDER)
        room.write("board.baseline", (room.sources / "netlists/boards/wren.baseline").read_text())
        os.chmod(room.folder / "board.baseline", 0o444)
        before = room.state()
        room.run("check", "board.toml", "--record", status=2, says="Permission denied")
        room.unchanged(before)

    yield "a read-only baseline", record_over_read_only

    for words in (["--version"], ["--help"], ["describe", "man"], ["sweep", "--help"]):
        def to_full_disk(room, words=words):
            with open("/dev/full", "wb") as full:
                room.run(*words, status=2, says="standard output", stdout=full)

        def to_nothing(room, words=words):
            done = room.run(*words, before="exec >&-")
            require(done.status == 2, f"status {done.status} without a standard output")

        yield f"{words} to a full disk", to_full_disk
        yield f"{words} without standard output", to_nothing

    def closed_streams(room):
        room.write("board.toml", DIVIDER)
        room.run("sweep", "board.toml", "--json", "good.json", "--quiet", status=0)
        room.run("sweep", "board.toml", "--json", "x.json", before="exec >&- 2>&-")
        require((room.folder / "x.json").read_bytes() == (room.folder / "good.json").read_bytes(),
                "what was meant for a closed stream went into the file")

    yield "closed streams and a file", closed_streams


# --- Names from outside, in every format. -----------------------------------------------------------

# Names that a board may have. What a format cannot hold is no part of a board.
NAMES = ["R2'", 'R"2"', "''", '"', "a=b", "[x]", "#no comment", "__proto__", "constructor", "toString",
         "<b>&amp;</b>", "</script><script>alert(1)</script>", "]]>", "<!--", "$chart0", "`id`", "%s%n{}",
         "\\", "\\n\\101", "a\\", "{a_b^c}", "a,b", "=cmd()", "+1", "-2-", "@SUM(A1)", "\"=1\"", "END",
         "a|b", "ä\u00df\u03a9", "\U0001F3A4", "e\u0301", "x" * 300, "R 1", "a;b", "\u00a0x"]
# Names that a file may have besides.
FILE_NAMES = [b"a\x1b[31mred", b"a\nb", b"a\tb", b"a\rb", b"\x01\x02", b"\x7f", b"not utf \xff\xfe", b"\xc3",
              b"\xed\xa0\x80", "\uFFFE".encode(), "\uFFFF".encode(), "\u202Ex".encode(), "\u009bx".encode(),
              "\u2028".encode(), b"-dash", b"'", b"''", b'"', b"`id`", b"$(id)", b"=cmd", b"@x", b"<b>&",
              b"<script>", b"a@b", b"%s", b"\\", b"x" * 200, b"#", b"__proto__", b"...", b" "]


def quoted(name):
    return json.dumps(name, ensure_ascii=False)


def board_named(name):
    q = quoted(name)
    return f"""[board]
name = {q}
revision = {q}
[parts]
{q} = {{ resistor = "1k", pins = ["in", {q}], tolerance = "1 %" }}
R_ = {{ resistor = "10k", pins = [{q}, "gnd"], tolerance = "1 %" }}
RV = {{ potentiometer = "1k", pins = [{q}, {q}, "gnd"], end_resistance = "10R" }}
[input]
plus = "in"
capsule = {q}
[output]
plus = {q}
[knob]
part = "RV"
positions = [0.5, 1]
[capsule.{q}]
kind = "resistive"
resistance = "150R"
[variants.{q}]
summary = {q}
set = {{ R_ = {{ resistor = "20k", tolerance = "1 %" }} }}
[[limit]]
name = {q}
measure = "gain"
min = "-60 dB"
"""


def strict_json(data):
    def refuse(pairs):
        keys = [key for key, _ in pairs]
        require(len(keys) == len(set(keys)), "a key stands twice")
        return dict(pairs)

    def constant(text):
        raise Wrong(f"{text} is no JSON")

    return json.loads(data.decode("utf-8"), object_pairs_hook=refuse, parse_constant=constant)


def texts_of_xml(data):
    """All texts and attributes; expat refuses what is not well-formed."""
    texts, parser = [], xml.parsers.expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = lambda _, attributes: texts.extend(attributes.values())
    parser.CharacterDataHandler = texts.append
    parser.Parse(data, True)
    return texts


class Page(html.parser.HTMLParser):
    """Counts elements, and keeps texts and the JSON of the charts."""

    def __init__(self):
        super().__init__()
        self.tags, self.texts, self.charts, self.inside = collections.Counter(), [], [], None

    def handle_starttag(self, tag, attrs):
        self.tags[tag] += 1
        self.inside = "chart" if dict(attrs).get("type") == "application/json" else tag
        self.texts += [value for _, value in attrs if value]

    def handle_endtag(self, tag):
        self.inside = None

    def handle_data(self, data):
        (self.charts if self.inside == "chart" else self.texts).append(data)


def page_of(data):
    page = Page()
    page.feed(data.decode("utf-8"))
    page.close()
    for chart in page.charts:
        strict_json(chart.encode())
    return page


def drawn_by_dot(data):
    done = subprocess.run(["dot", "-Tsvg"], input=data, capture_output=True, timeout=LONGEST_S, check=False)
    require(done.returncode == 0 and b"rror" not in done.stderr, f"Graphviz says {done.stderr}")
    return texts_of_xml(done.stdout)


def has_name(texts, name):
    return any(name in text for text in texts)


@group
def names(room_of_all):
    """Each name through every format, read by that format's own parser."""

    def in_json(room, name):
        for words in (["check", "--json"], ["sweep", "--variant", "all", "--json"],
                      ["compare", "n.toml", "--json"], ["tolerance", "--boards", "2", "--json"]):
            data = strict_json(room.run(words[0], "n.toml", *words[1:], "-").out)
            require(name in json.dumps(data, ensure_ascii=False) or quoted(name)[1:-1] in json.dumps(data),
                    f"{words}: the name is not there")

    def in_junit(room, name):
        texts = texts_of_xml(room.run("check", "n.toml", "--junit", "-").out)
        require(has_name(texts, name), "the name is not there")

    def in_markdown(room, name):
        out = room.run("check", "n.toml", "--summary", "-").out.decode("utf-8")
        table = [line for line in out.splitlines() if line.startswith("|")]
        rows = [re.split(r"(?<!\\)\|", line) for line in table]
        require(len(rows) == 3 and len({len(row) for row in rows}) == 1, "no table of one board")
        require(not re.search(r"[<>`*]", re.sub(r"<br>|\*\*", "", "".join(rows[2]))), "there is markup")
        require(name in html.unescape(rows[2][1]), "the name is not there")

    def in_csv(room, name):
        out = room.run("sweep", "n.toml", "--variant", "all", "--at", "1kHz", "--csv", "-", status=0).out
        rows = list(csv.reader(io.StringIO(out.decode("utf-8"), newline=""), strict=True))
        require(len({len(row) for row in rows}) == 1, "rows of several lengths")
        expected = "'" + name if name[0] in "=+-@" else name
        require(rows[1][0] == rows[1][1] == rows[1][3] == expected, f"{rows[1][:4]} has not the name")
        require({row[2] for row in rows[1:]} == {"", expected}, "the variant has another name")

    def in_pictures(room, name):
        room.run("sweep", "n.toml", "--at", "1kHz,2kHz", "--quiet", "--plot", "n.svg", status=0)
        shown = "".join(texts_of_xml((room.folder / "n.svg").read_bytes()))
        require(name in shown, "the name is not in the picture")

    def in_drawings(room, name):
        out = room.run("inspect", "n.toml", "--graph", "-", status=0).out
        shown = drawn_by_dot(out)
        require(has_name(shown, name) or has_name(["".join(shown)], name), "the name is not in the drawing")

    def in_page(room, name):
        nothing = room.folder / "nothing"
        nothing.mkdir()
        room.run("report", "n.toml", "--output", "n.html", "--quiet", status=0,
                 environment={"PATH": str(nothing)})
        page = page_of((room.folder / "n.html").read_bytes())
        charts = page.tags["figure"]
        require(charts > 0 and page.tags["script"] == charts + 2, f"{page.tags} has other elements")
        require(page.tags["b"] == 0 and has_name(page.texts, name), "the name is not there as text")

    def in_text(room, name):
        for words in (["check"], ["sweep", "--variant", "all", "--show", "all"], ["inspect"],
                      ["compare", "n.toml"], ["tolerance", "--boards", "2"]):
            out = room.run(words[0], "n.toml", *words[1:]).out.decode("utf-8")
            require(name in out or len(name) > 60 or name[:60] in out, f"{words}: the name is not there")

    def through_a_result(room, name):
        for k in (1, 2):
            room.run("tolerance", "n.toml", "--boards", "4", "--shard", f"{k}/2", "--result", f"{k}.shard",
                     status=0)
        whole = room.run("tolerance", "n.toml", "--boards", "4", "--json", "-", status=0).out
        merged = room.run("tolerance", "--merge", "2.shard", "1.shard", "--json", "-", status=0).out
        require(whole == merged, "merged shards differ from the whole run")

    def recorded(room, name):
        room.run("check", "n.toml", "--record")
        said = room.run("check", "n.toml").out.decode()
        require("DRIFT" not in said and "drifted" in said, f"the baseline is not read back: {said[-500:]}")

    formats = [in_json, in_junit, in_csv, in_pictures, in_drawings, in_page, in_text, through_a_result,
               recorded]
    if ("check", "--summary", ".md") in OUTPUTS:
        formats.append(in_markdown)
    for name in NAMES:
        for read in formats:
            def case(room, name=name, read=read):
                room.write("n.toml", board_named(name))
                read(room, name)
            yield f"{name[:40]!r} {read.__name__}", case


@group
def files(_):
    """Each name as that of the file, which may be any bytes, where it becomes the name of the board."""
    def everything(room, name):
        board = name + b".toml"
        room.write(board, DIVIDER + '[[limit]]\nname = "g"\nmeasure = "gain"\nmin = "-3 dB"\n')
        where = b"./" + board
        strict_json(room.run("check", where, "--json", "-").out)
        strict_json(room.run("sweep", where, "--json", "-", status=0).out)
        texts_of_xml(room.run("check", where, "--junit", "-").out)
        rows = csv.reader(io.StringIO(room.run("sweep", where, "--csv", "-", status=0).out.decode("utf-8"),
                                      newline=""), strict=True)
        require(len({len(row) for row in rows}) == 1, "rows of several lengths")
        drawn_by_dot(room.run("inspect", where, "--graph", "-", status=0).out)
        page_of(room.run("report", where, "--output", "-", status=0, environment={"PATH": "/nonexistent"}).out)
        room.run("sweep", where, "--verbose", status=0)
        room.run("check", where, "--record", status=0)
        room.run("check", where, status=0, says="0 of ")
        room.run("tolerance", where, "--boards", "2", "--result", b"./" + name + b".shard", status=0)
        strict_json(room.run("tolerance", "--merge", b"./" + name + b".shard", "--json", "-", status=0).out)

    def picture(room, name):
        room.write(name + b".toml", DIVIDER)
        room.run("sweep", b"./" + name + b".toml", "--at", "1kHz,2kHz", "--quiet", "--plot", "n.svg", status=0)
        texts_of_xml((room.folder / "n.svg").read_bytes())

    def missing(room, name):
        room.write("board.toml", DIVIDER)
        for words in (["sweep", b"./" + name], ["check", b"./" + name], ["tolerance", "--merge", b"./" + name],
                      ["sweep", "board.toml", "--json", b"./none/" + name],
                      ["sweep", "board.toml", "--variant", b"v" + name],
                      ["sweep", "board.toml", "--capsule", b"c" + name], ["sweep", "board.toml", "--at", b"x" + name],
                      ["x" .encode() + name], ["sweep", "board.toml", b"--x" + name],
                      ["sweep", "board.toml", "--color", b"x" + name]):
            room.run(*words, status=2)

    for name in FILE_NAMES:
        yield f"{name[:40]!r} in every format", lambda room, name=name: everything(room, name)
        yield f"{name[:40]!r} in a picture", lambda room, name=name: picture(room, name)
        yield f"{name[:40]!r} in messages", lambda room, name=name: missing(room, name)


@group
def recorded(_):
    """Whatever stands in a baseline, check ends with a status and fit reports."""
    def case(room, number):
        room.write("board.toml", DIVIDER)
        room.run("check", "board.toml", "--record", status=0)
        good = (room.folder / "board.baseline").read_bytes()
        seed = number * 40503 % 2**32
        for _ in range(8):
            seed = (seed * 1664525 + 1013904223) % 2**32
            bad = bytearray(good)
            at, kind = seed % len(good), (seed >> 20) % 4
            if kind == 0:
                bad[at] = (seed >> 8) % 256
            elif kind == 1:
                del bad[at:at + 1 + (seed >> 8) % 40]
            elif kind == 2:
                bad[at:at] = bad[at // 2:at // 2 + 30]
            else:
                bad[at:at] = b'"\\u001b[31m\\u202E\\uFFFE'
            room.write("board.baseline", bytes(bad))
            done = room.run("check", "board.toml", "--json", "x.json", "--junit", "x.xml")
            require(done.status in (0, 1, 2), f"status {done.status}")
            strict_json((room.folder / "x.json").read_bytes())
            texts_of_xml((room.folder / "x.xml").read_bytes())

    for number in range(12):
        yield f"a baseline changed, {number}", lambda room, number=number: case(room, number)

    def names(room):
        room.write("board.toml", DIVIDER)
        room.run("check", "board.toml", "--record", status=0)
        good = (room.folder / "board.baseline").read_text()
        for key in ("board", "revision", "lowhiss"):
            text = re.sub(rf"^{key} = .*\n", "", good, flags=re.M)
            room.write("board.baseline", f'{key} = "x\\u001b[31m"\n' + text)
            room.run("check", "board.toml", status=2, says="invisible character")

    yield "names in a baseline that control the terminal", names


# --- Deep, long and endless. ------------------------------------------------------------------------

small_stack = "ulimit -s 256"


@group
def deep(_):
    """A stack of 256 KiB is enough for everything that is accepted."""
    demo = ["netlists/boards/heron-c.toml", "netlists/boards/dabchick.toml"]

    def every_command(room, board, words):
        path = str(room.sources / board)
        words = [path if word == "BOARD" else word for word in words]
        room.run(*words, before=small_stack, status=0)

    for board in demo:
        for words in (["sweep", "BOARD", "--show", "all", "--json", "x.json", "--csv", "x.csv"],
                      ["check", "BOARD", "--junit", "x.xml"], ["compare", "BOARD", "BOARD"], ["inspect", "BOARD"],
                      ["inspect", "BOARD", "--graph", "x.svg"], ["supply", "BOARD"],
                      ["tolerance", "BOARD", "--boards", "3", "--result", "x.shard"],
                      ["report", "BOARD", "--output", "x.html"], ["describe", "man"], ["--help"]):
            if words[0] == "supply" and "heron-c" in board:
                continue
            yield f"{board} {words}", lambda room, a=(board, words): every_command(room, *a)

    def long_name(room, words):
        room.write("board.toml", board_named("x" * 26000))
        room.run(*words, before=small_stack)

    for words in (["sweep", "board.toml"], ["check", "board.toml"], ["inspect", "board.toml"],
                  ["report", "board.toml", "--output", "x.html"], ["compare", "board.toml", "board.toml"],
                  ["tolerance", "board.toml", "--boards", "2"], ["sweep", "board.toml", "--plot", "x.svg"],
                  ["inspect", "board.toml", "--graph", "x.dot"]):
        yield f"a name of 26,000 letters: {words[0]} {words[2:]}", lambda room, words=words: long_name(room, words)

    def nested(room, text, says):
        room.write("board.toml", text)
        room.run("sweep", "board.toml", before=small_stack, status=2, says=says)

    for depth in (31, 33, 1000, 100000):
        says = "nested more than 32 deep" if depth > 32 else ""
        yield f"lists {depth} deep", lambda room, a=("x = " + "[" * depth + "]" * depth + "\n", says): nested(room, *a)
        yield f"tables {depth} deep", lambda room, a=("x = " + "{a=" * depth + "1" + "}" * depth + "\n",
                                                     says): nested(room, *a)
        yield f"keys {depth} deep", lambda room, a=(".".join("a" * (depth + 1)) + " = 1\n", says): nested(room, *a)

    def ladder(room, *words):
        parts = "".join(f'R{k} = {{ resistor = "1k", pins = ["n{k}", "n{k + 1}"] }}\n'
                        f'C{k} = {{ capacitor = "1p", pins = ["n{k + 1}", "gnd"] }}\n' for k in range(990))
        room.write("board.toml", f'[input]\nplus = "n0"\n[output]\nplus = "n990"\n[parts]\n{parts}')
        room.run(*words, before=small_stack, status=0)

    for words in (["inspect", "board.toml"], ["inspect", "board.toml", "--graph", "x.dot"], ["supply", "board.toml"],
                  ["sweep", "board.toml", "--show", "gain"]):
        yield f"a ladder of 1,980 parts: {words}", lambda room, words=words: ladder(room, *words)

    def chain(room, key):
        for k in range(100):
            other = f'"n{k + 1}.toml"' if key == "based_on" else f'["n{k + 1}.toml"]'
            room.write(f"n{k}.toml", f"[board]\n{key} = {other}\n")
        room.write("n100.toml", "[board]\n")
        room.run("sweep", "n0.toml", before=small_stack, status=2)

    for key in ("include", "based_on"):
        yield f"a hundred files by {key}", lambda room, key=key: chain(room, key)

    def crossing(room, key):
        os.symlink(".", room.folder / "a")
        os.symlink(".", room.folder / "b")
        both = '["a/lib.toml", "b/lib.toml"]'
        room.write("lib.toml", f"[board]\ninclude = {both}\n")
        text = f"[board]\ninclude = {both}\n" if key == "include" else '[board]\nbased_on = "a/board.toml"\n'
        room.write("board.toml", text + DIVIDER)
        begin = time.monotonic()
        room.run("sweep", "board.toml", status=2, says="refers back to itself")
        require(time.monotonic() - begin < 10, "two links keep it busy")

    def one_library_by_two_names(room):
        os.symlink(".", room.folder / "a")
        room.write("lib.toml", '[opamp.q]\nopen_loop_gain = "100 dB"\ngain_bandwidth = "1 MHz"\n')
        os.link(room.folder / "lib.toml", room.folder / "same.toml")
        room.write("board.toml", '[board]\ninclude = ["lib.toml", "a/a/lib.toml", "same.toml"]\n' + DIVIDER)
        log = room.run("sweep", "board.toml", "--verbose", status=0).err.decode()
        require(len(re.findall(r"read .*(?:lib|same)\.toml", log)) == 1, f"one file was read twice: {log}")

    yield "two links to the folder and two includes", lambda room: crossing(room, "include")
    yield "a board that is based on itself by a link", lambda room: crossing(room, "based_on")
    yield "one library by three names", one_library_by_two_names


# --- Mistakes that would be accepted in silence. ----------------------------------------------------

LIMIT = '[[limit]]\nname = "g"\nmeasure = "gain"\n'
SILENT = {
    "mask with min above max": (LIMIT + 'mask = [{ at = "20 Hz", min = 3, max = 1 }, { at = "1 kHz", min = 0 }]', "above 'max'"),
    "no variant": (LIMIT + 'min = "-3 dB"\nvariant = []', "the list is empty"),
    "no capsule": (LIMIT + 'min = "-3 dB"\ncapsule = []', "the list is empty"),
    "no knob position": (LIMIT + 'min = "-3 dB"\nknob = []', "the list is empty"),
    "variant without name": ('[variants.""]\nset = { R2 = "1k" }', "the name is empty"),
    "capsule without name": ('[capsule.""]\nkind = "resistive"\nresistance = "1k"', "the name is empty"),
    "group without name": ('[matched.""]\nparts = ["R1", "R2"]\nwithin = 0', "the name is empty"),
    "group of nothing": ('[matched.a]\nparts = []\nwithin = 0', "the list is empty"),
    "group of one part": ('[matched.a]\nparts = ["R1"]\nwithin = 0', "a matched group of one part"),
    "group of a part twice": ('[matched.a]\nparts = ["R1", "R1"]\nwithin = 0', "in the list already"),
    "temperature in degrees": ('[board]\ntemperature = 20', "has no unit"),
    "temperature range in degrees": ('[board]\ntemperature_range = [10, 40]', "has no unit"),
    "name that is no text": ('[board]\nname = "a\\uFFFE"', "invisible character"),
    "name with a joiner": ('[board]\nname = "a\\u2060"', "invisible character"),
}


@group
def silent(_):
    """A text that looks like a board and means something else is refused with a message."""
    def case(room, text, says):
        room.write("board.toml", DIVIDER + text + "\n")
        for command in ("sweep", "check"):
            done = room.run(command, "board.toml", status=2, says=says)
            require(re.search(rb"board.toml:\d+:\d+: error: ", done.err), "no place is named")

    for name, (text, says) in SILENT.items():
        yield name, lambda room, a=(text, says): case(room, *a)

    def gang(room):
        room.write("board.toml", DIVIDER.replace("[input]", 'RV = { potentiometer = "1k", pins = ["in", "out", "gnd"] }\n[input]')
                   + '[knob]\npart = ["RV", "RV"]\n')
        room.run("sweep", "board.toml", status=2, says="in the list already")

    def nameless_part(room):
        room.write("board.toml", DIVIDER.replace("R1", '""'))
        room.run("sweep", "board.toml", status=2, says="the name is empty")

    def matched_opamp(room):
        room.write("board.toml", DIVIDER.replace("[input]", 'U1 = { opamp = "q", plus = "out", minus = "a", out = "a" }\n[input]')
                   + '[opamp.q]\nopen_loop_gain = "100 dB"\ngain_bandwidth = "1 MHz"\n[matched.m]\nparts = ["R1", "U1"]\nwithin = 0\n')
        room.run("sweep", "board.toml", status=2, says="no value to match")

    yield "a gang of one potentiometer twice", gang
    yield "a part without name", nameless_part
    yield "an op-amp in a matched group", matched_opamp


# --- Results of series. -----------------------------------------------------------------------------

@group
def results(room_of_all):
    """A result that was altered anywhere is refused; a series without a solution has no yield."""
    def make(room):
        room.write("board.toml", DIVIDER + LIMIT + 'min = "-1 dB"\n')
        room.run("tolerance", "board.toml", "--boards", "5", "--result", "good.shard", status=0)
        return (room.folder / "good.shard").read_bytes()

    def altered(room, number):
        good = make(room)
        seed = number * 2654435761 % 2**32
        for _ in range(12):
            seed = (seed * 1664525 + 1013904223) % 2**32
            at, change = seed % len(good), 1 + (seed >> 16) % 255
            bad = bytearray(good)
            bad[at] ^= change
            room.write("bad.shard", bytes(bad))
            room.run("tolerance", "--merge", "bad.shard", status=2, says="bad.shard")

    for number in range(12):
        yield f"a byte changed, {number}", lambda room, number=number: altered(room, number)

    def cut(room):
        good = make(room)
        for length in (0, 1, 8, 9, 10, len(good) // 2, len(good) - 9, len(good) - 1):
            room.write("bad.shard", good[:length])
            room.run("tolerance", "--merge", "bad.shard", status=2, says="bad.shard")
        for tail in (b"\0", b"\xcf" + bytes(8), good, good[-9:]):
            room.write("bad.shard", good + tail)
            room.run("tolerance", "--merge", "bad.shard", status=2, says="bad.shard")

    yield "cut and lengthened", cut

    floating = DIVIDER.replace("[input]", 'R3 = { resistor = "1k", pins = ["lost", "found"] }\n[input]')
    for name, text in {"without limits": floating, "with a limit": floating + LIMIT + 'min = "-1 dB"\n'}.items():
        def unsolved(room, text=text):
            room.write("board.toml", text)
            done = room.run("tolerance", "board.toml", "--boards", "3", "--json", "x.json", "--result", "x.shard",
                            status=3, says="lost")
            require(b"yield" not in done.out, "there is a yield")
            require(not (room.folder / "x.json").exists(), "there is a report")
            for command in ("sweep", "check", "supply"):
                if command != "check" or "limit" in text:
                    room.run(command, "board.toml", status=3)

        yield f"a board without a solution {name}", unsolved

    # A converter draws its power from a battery through R3: 5 V squared over four times R3 is the most
    # that there is, so about half of the boards have no resting point.
    starved = """[parts]
B1 = { voltage_source = "5 V", pins = ["raw", "gnd"] }
R3 = { resistor = "24R5", pins = ["raw", "cell"], tolerance = "10 %" }
P1 = { converter = "10 V", input = "cell", out = "v", input_min = "0.1 V", efficiency = 1.0 }
R4 = { resistor = "400R", pins = ["v", "gnd"] }
R1 = { resistor = "1k", pins = ["in", "out"] }
R2 = { resistor = "10k", pins = ["out", "gnd"] }
[input]
plus = "in"
[output]
plus = "out"
"""

    def some_unsolved(room):
        room.write("board.toml", starved)
        room.run("tolerance", "board.toml", "--boards", "40", "--json", "x.json", status=0)
        report = strict_json((room.folder / "x.json").read_bytes())
        missing = report["without_solution"]
        require(0 < len(missing) < 40, f"{len(missing)} of 40 boards have no solution")
        require(report["yield"]["good"] == 40 - len(missing), "a board without a solution is a good one")
        room.run("sweep", "board.toml", "--board-index", str(missing[0]), status=3)

    yield "boards without a solution among others", some_unsolved


# --- The user's surroundings. -----------------------------------------------------------------------

@group
def surroundings(_):
    """Settings of gnuplot, locales, dates and folders change no byte."""
    def same_picture(room, command, option, ending, environment):
        room.write("board.toml", DIVIDER + LIMIT + 'min = "-3 dB"\n')
        (room.folder / "home").mkdir()
        room.write("home/.gnuplot", "set title 'mine'\nset border 0\nprint 'hello'\n")
        room.run(*words_for(command, "--quiet", option, "a" + ending), status=0)
        environment = {name: value.replace("ROOM", str(room.folder)) for name, value in environment.items()}
        done = room.run(*words_for(command, "--quiet", option, "b" + ending), status=0, environment=environment)
        require(done.err == b"", f"--quiet says {done.err}")
        require((room.folder / ("a" + ending)).read_bytes() == (room.folder / ("b" + ending)).read_bytes(),
                "the pictures differ")

    drawings = [("sweep", "--plot"), ("check", "--plot"), ("compare", "--plot"), ("tolerance", "--plot"),
                ("inspect", "--graph")]
    for (command, option), ending in itertools.product(drawings, (".svg", ".png", ".pdf")):
        for environment in ({"HOME": "ROOM/home"}, {"LC_ALL": "C", "LANG": "C"}):
            name = next(iter(environment))
            yield f"{command} {option} {ending} with another {name}", lambda room, a=(command, option, ending,
                environment): same_picture(room, *a)

    def no_date(room, command, option):
        room.write("board.toml", DIVIDER)
        room.run(*words_for(command, "--quiet", option, "a.pdf"), status=0)
        require(b"/CreationDate (" not in (room.folder / "a.pdf").read_bytes(), "the file has a date")

    for command, option in drawings:
        yield f"{command} {option} without a date", lambda room, a=(command, option): no_date(room, *a)


# --- Running. ---------------------------------------------------------------------------------------

def run_case(command, sources, name, case):
    with tempfile.TemporaryDirectory() as folder:
        try:
            case(Room(command, sources, folder))
            return None
        except Wrong as wrong:
            return f"FAILED: {name}\n    {wrong}"
        except Exception as error:  # such as a parser that refuses an output
            return f"FAILED: {name}\n    {type(error).__name__}: {error}"


def run_groups(command, sources, chosen, step=1):
    """The failures, and the number of cases: every one, or every so many."""
    cases = [(f"{group}: {name}", case) for group in chosen
             for name, case in itertools.islice(GROUPS[group](None), 0, None, step)]
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        found = pool.map(lambda entry: run_case(command, sources, *entry), cases)
        return [failure for failure in found if failure], len(cases)


# Ways in which the command could be broken, as what a wrapper does after it, and the group that must see
# it.
BREAKS = {
    "a refusal ends with 0": ('exit 0', "silent"),
    "an altered result is accepted": ('[ "$1" = tolerance ] && exit 0', "results"),
    "an input is replaced all the same": ('[ -e parts/models.toml ] && echo {} >parts/models.toml', "replaced"),
    "an escape sequence reaches the terminal": ('printf "\\033[31m" >&2', "files"),
    "a temporary file is left": ('touch left.XXXXXX', "outputs"),
    "it ends by a signal": ('kill -SEGV $$', "deep"),
    "a name is lost": ('true', "names"),
    "a program complains": ('echo "warning: degree sign" >&2', "surroundings"),
}
WRAPPER = """#!/usr/bin/env bash
if [ "{name}" = "a name is lost" ]; then
    set -o pipefail
    "{command}" "$@" | LC_ALL=C sed "s/[&$\\`'=+@,|<\\"]//g"
else
    "{command}" "$@"
fi
status=$?
{after}
exit $status
"""


def self_test(command, sources):
    missed = []
    for name, (after, guard) in BREAKS.items():
        with tempfile.TemporaryDirectory() as folder:
            wrapper = pathlib.Path(folder) / "lowhiss"
            wrapper.write_text(WRAPPER.format(name=name, command=command, after=after))
            wrapper.chmod(0o755)
            failures, count = run_groups(str(wrapper), sources, [guard], 4)
            print(f"{name}: {len(failures)} of {count} cases of '{guard}' fail")
            if not failures:
                missed.append(name)
    for name in missed:
        print(f"FAILED: nothing sees that {name}")
    return 1 if missed else 0


def main():
    words = [word for word in sys.argv[1:] if word != "--self-test"]
    command, sources, *chosen = words
    command, sources = os.path.abspath(command), os.path.abspath(sources)
    leave_out_unknown_outputs(command)
    if "--self-test" in sys.argv:
        return self_test(command, sources)
    begin = time.monotonic()
    failures, count = run_groups(command, sources, chosen or list(GROUPS))
    for failure in failures:
        print(failure)
    print(f"{count} cases, {len(failures)} failed, {time.monotonic() - begin:.0f} s")
    if not chosen and count < 300:
        print("FAILED: fewer than 300 cases")
        return 1
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
