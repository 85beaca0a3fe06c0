"""The job over the sample's photo of plate C, as far as mouse and keyboard share it."""

import contextlib
import json
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

from drive import Window

ROOT = pathlib.Path(__file__).resolve().parents[2]
CV = re.compile(r"^9 Coefficients: Cv (0\.\d+) ± (0\.\d+)(?!.*of the sheet before)")
# rendered (samples/README.md)
TRUE_CV = 0.9710


@contextlib.contextmanager
def bench():
    """What was typed (PROGRAM [FOLDER FOR SCREENSHOTS]) and a folder with a copy of the photo, gone afterwards."""
    program = str(pathlib.Path(sys.argv[1]).resolve())
    shots = pathlib.Path(sys.argv[2]).resolve() if len(sys.argv) > 2 else None
    if shots:
        shots.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        shutil.copy(ROOT / "samples" / "plate-c-run2.jpg", folder / "plate-c.jpg")
        yield program, shots, folder


def opened(program, shots, folder):
    """The window with the photo, by way of the open command and its path."""
    w = Window(program, data=folder / "data", shots=shots)
    w.wait("Mark a photo step by step")
    w.shot("1-start")
    w.key("ctrl+o")
    w.wait(re.compile("^Open a sheet or a photo:"))
    w.type(str(folder / "plate-c.jpg"))
    w.key("Return")
    w.wait(re.compile(r"^1 Photo: plate-c\.jpg.*12\.0 Mpx"), seconds=60)
    return w


def cv_on_screen(window):
    """The coefficient and its uncertainty as the sheet's line tells them, once they are of the sheet as it is."""
    return CV.match(window.wait(CV, seconds=60).name).groups()


def saved_and_left(window):
    window.key("ctrl+s")
    window.wait("saved")
    window.key("ctrl+q")
    assert window.ended() == 0, "the program ended badly"


def command_line_agrees(program, sheet, value, u):
    """The command line gives the same digits of the sheet that was saved, and the truth lies in its interval."""
    measured = subprocess.run([program, "measure", "--json", str(sheet)], capture_output=True, text=True, check=True)
    cv = json.loads(measured.stdout)["cv"]
    for what, said, found in (("Cv", value, cv["value"]), ("u", u, cv["u"])):
        digits = len(said.split(".")[1])
        assert f"{found:.{digits}f}" == said, f"{what}: the window says {said}, the command line {found}"
    assert cv["lo"] < TRUE_CV < cv["hi"], f"the rendered truth {TRUE_CV} is not in {cv['lo']} to {cv['hi']}"
