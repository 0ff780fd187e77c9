"""Every value of a shot has a hand on the page, and every command's option a place."""

import re
from importlib import resources

import pytest

from render.cli.main import COMMANDS, load_command
from render.page.asks import JUDGING
from render.page.keys import HANDS, declared_keys, in_page_words, page_words
from render.page.orders import KINDS
from render.shot.shot import shot_keys
from render.units import told_in

#: Options of no shot and of nothing that is saved: where the page has them, or why it has not.
ELSEWHERE = {
    "render": {
        "show": "Save or print: What the lens does to it",
        "save-shot": "Save or print: These settings",
    },
    "judge": {
        "show": "Telltales; Save or print: Verdict",
        "save-shot": "Save or print: These settings",
    },
    "solve": {
        "sharp": "Find a setting",
        "row": "Find a setting",
        "ground": "Find a setting",
        "wall": "Find a setting",
        "face": "Find a setting",
        "soft": "Find a setting",
        "only": "Find a setting",
        "band": "Find a setting",
        "move": "Find a setting",
        "save-shot": "Save or print: These settings",
    },
    "compare": {
        "page": "Save or print: Comparison, page to wipe",
        "singles": "Save or print: Comparison, single pictures",
        "save-shot": "Save or print: These settings",
    },
    "depth": {
        "show": "The place: Show the depth; Save or print: Depth map",
        "propose": "The place: Find the pitch from the picture's lines",
    },
    "section": {},
    "film": {
        "save-shot": "Save or print: These settings",
        "strip": "Save or print: A clip, strip of nine moments",
    },
    "card": {"pdf": "Save or print: Field card"},
    "board": {
        "png": "Save or print: Client's page",
        "save-shot": "Save or print: These settings",
    },
    "loupe": {},
    "page": {"port": "it is running", "browser": "it is running"},
}
#: A browser names and keeps what it saves, and asks before it replaces.
BY_THE_BROWSER = {"help", "out", "overwrite"}
#: Lines for programs, of commands whose page says nothing else: a program has no page.
FOR_PROGRAMS = {"json"}
#: The page begins with any shot file that is dropped on it, and works on one picture of one person
#: at a time.
OF_MANY = {"shot", "workers", "scheduler", "table", "contact-sheet"}
#: Commands that are not about one shot.
NOT_OF_A_SHOT = {"scenes", "defaults"}


def _own_options() -> dict[str, set[str]]:
    shot = set(shot_keys())
    found = {}
    for name in COMMANDS:
        if name in NOT_OF_A_SHOT:
            continue
        command = load_command(name)
        options = {
            opt.removeprefix("--")
            for parameter in command.params
            for opt in parameter.opts
            if opt.startswith("--")
        }
        found[name] = options - shot - BY_THE_BROWSER - FOR_PROGRAMS - OF_MANY
    return found


def _asked(command: str) -> set[str]:
    asks = {ask.name for kind in KINDS.values() if kind.command == command for ask in kind.asks}
    return asks | ({ask.name for ask in JUDGING} if command == "judge" else set())


def test_every_value_of_a_shot_is_worded_for_the_page() -> None:
    """No value is left to its option's bare name, and no word stands for a value that is gone."""
    assert set(HANDS) == set(shot_keys())
    assert all(key["label"] and key["group"] for key in declared_keys())


def test_the_page_has_a_place_for_each_option_of_each_command() -> None:
    """An option that a command gains must be asked on the page, or be named above."""
    lacking = {
        f"{command} --{name}"
        for command, options in _own_options().items()
        for name in options - _asked(command) - set(ELSEWHERE.get(command, {}))
    }

    assert "weather" in _own_options()["card"]
    assert lacking == set()


def test_nothing_is_asked_that_no_command_knows() -> None:
    """Each question of the page is an option of the command that it names."""
    shot = set(shot_keys())
    own = _own_options()
    strange = {
        f"{kind.command} --{ask.name}"
        for kind in KINDS.values()
        for ask in kind.asks
        if re.sub(r"-\d$", "", ask.name) not in own[kind.command] | shot
    }

    assert strange == set()
    assert {ask.name for ask in JUDGING} <= own["judge"]


def test_every_name_that_the_page_writes_is_declared() -> None:
    """A renamed value would leave a dead hand on the page, and a shot that cannot be read."""
    written = set()
    for entry in resources.files("render.page").joinpath("static").iterdir():
        if not entry.name.endswith(".js"):
            continue
        text = entry.read_text(encoding="utf-8")
        for call in re.findall(r"(?:turn|attempt)\(\{(.*?)\}\)", text, re.DOTALL):
            written |= set(re.findall(r"(?:^|[{,])\s*\"?([a-z][a-z0-9-]*)\"?:", call))
            written |= set(re.findall(r"(?:^|,\s*)(f)(?=\s*[,}]|$)", call))
        if entry.name in ("hands.js", "finds.js"):
            written |= set(re.findall(r'name: "([a-z0-9-]+)", label: "[A-Z]', text))
        if entry.name == "finds.js":
            tools = text[text.index("const TOOLS") : text.index("];")]
            written |= set(re.findall(r'^  \["([a-z-]+)"', tools, re.MULTILINE))
    written -= {"m", "how"}  # of a question asked on the way

    assert {"tilt", "wall-foot", "horizon", "focus", "thing", "lens-file", "at"} <= written
    assert written <= set(shot_keys())


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("say what took the picture with --focal-35", "“Focal length, 35 mm equivalent”"),
        ("thing 1 stands on ground: give --height and --pitch", "“Lens above ground” and “Camera"),
        ("leave --exact out", "every ray traced"),
        ("give --key, --reveal or, to hold it, --clip", "“Tilt in over” or, to hold it, “Length”"),
        ('mark it, as in --sharp "eye=4%,3%,5%,4%" (left, top, right, bottom)', "mark it"),
    ],
)
def test_options_are_called_by_their_labels(said: str, shown: str) -> None:
    """Nobody who reads the page has to know the command line."""
    assert shown in page_words(said)
    assert "--" not in page_words(said)
    assert "sharp" not in page_words(said)


def test_lengths_that_show_how_to_write_one_are_in_feet_for_whoever_is_told_feet() -> None:
    """As all lengths of the page are."""
    with told_in("feet"):
        empty = {key["name"]: key["empty"] for key in declared_keys()}

    assert [empty["step"], empty["reach"]] == ["such as 2 ft", "4900 ft"]
    assert not [name for name, text in empty.items() if re.search(r"\d m\b", text)]


def test_every_sentence_of_an_answer_is_worded_for_the_page() -> None:
    """However deep it lies; numbers and values stay as they are."""
    said = {"notes": ["name them with --credit"], "f": 2.8, "values": {"tilt": "up 8"}}

    assert in_page_words(said) == {
        "notes": ["name them with “Credit the map to”"],
        "f": 2.8,
        "values": {"tilt": "up 8"},
    }
