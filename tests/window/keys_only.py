"""The whole job by keyboard alone: no pointer is moved. From a photo to Cv, saved, and measured by the command line.

    tests/window/run.sh tests/window/keys_only.py PROGRAM [FOLDER FOR SCREENSHOTS]
"""

import json
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

import pyatspi
from drive import Window, walk

ROOT = pathlib.Path(__file__).resolve().parents[2]
CROSS = re.compile(r"cross at (-?[\d.]+), (-?[\d.]+) px")


def cross(window):
    """Where the cross is on the photo, as it is told to those who do not see it; None before it is shown."""
    told = window.find("photo")
    said = CROSS.search(told.description or "") if told is not None else None
    return said and tuple(map(float, said.groups()))


def place(window, name, x_px, y_px):
    """Moves the photo under the cross to a pixel, a hundred, ten or one at a time, and puts the mark there."""
    for _ in range(60):
        at = cross(window)
        if at is None:
            window.key("Right")
            continue
        off = x_px - at[0], y_px - at[1]
        if max(map(abs, off)) <= 1.0:
            break
        keys = []
        for by, (more, less) in zip(off, (("Right", "Left"), ("Down", "Up"))):
            left = abs(by)
            for step, held in ((100, "shift+"), (10, ""), (1, "ctrl+")):
                n, left = divmod(left, step)
                keys += [held + (more if by > 0 else less)] * int(n)
        window.key(*keys)
    window.key("Return")
    window.wait(name)


def focused(window):
    """The name of what has the keyboard."""
    for node in walk(window.app):
        try:
            if node.getState().contains(pyatspi.STATE_FOCUSED) and node.name:
                return node.name
        except Exception:
            continue
    return ""


def tab_to(window, name, most=25):
    """Goes on with Tab until something of that name has the keyboard."""
    met = [focused(window)]
    if name.search(met[0]):
        return
    for _ in range(most):
        window.key("Tab")
        met.append(focused(window))
        if name.search(met[-1]):
            return
    raise AssertionError(f"{name.pattern}: not among {met}")


def main():
    program = str(pathlib.Path(sys.argv[1]).resolve())
    shots = pathlib.Path(sys.argv[2]).resolve() if len(sys.argv) > 2 else None
    if shots:
        shots.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        photo, sheet = folder / "plate-c.jpg", folder / "plate-c.toml"
        shutil.copy(ROOT / "samples" / "plate-c-run2.jpg", photo)
        subprocess.run(["xdotool", "mousemove", "1", "1"], check=True)
        w = Window(program, data=folder / "data", shots=shots)
        w.wait("Mark a photo step by step")
        w.key("ctrl+o")
        w.wait(re.compile("^Open a sheet or a photo:"))
        w.type(str(photo))
        w.key("Return")
        w.wait(re.compile(r"^1 Photo: plate-c\.jpg.*12\.0 Mpx"), seconds=60)
        w.take(2)
        w.key("p")
        place(w, "plumb line, mark 1", 997, 750)
        w.shot("1-placed")
        place(w, "plumb line, mark 2", 1042, 2850)
        w.take(3)
        place(w, "scale, mark 1", 678, 486)
        place(w, "scale, mark 2", 2842, 441)
        for line, (mark, x, y), field, typed in (
            (3, (None, 0, 0), "^length between the marks", "600 mm +- 0.3 mm"),
            (4, ("orifice centre", 443, 840), "^orifice diameter$", "10.00 mm +- 0.05 mm"),
            (7, (None, 0, 0), "^head reading$", "451 mm +- 0.6 mm"),
        ):
            w.take(line)
            if mark:
                place(w, mark, x, y)
            tab_to(w, re.compile(field))
            w.type(typed)
            w.shot(f"2-line-{line}")
        w.take(9)
        said = re.compile(r"^9 Coefficients: Cv (0\.\d+) ± (0\.\d+)(?!.*of the sheet before)")
        value, u = said.match(w.wait(said, seconds=60).name).groups()
        w.key("f")
        w.shot("3-coefficients")
        w.key("ctrl+s")
        w.wait("saved")
        w.key("ctrl+q")
        assert w.ended() == 0, "the program ended badly"
        measured = subprocess.run([program, "measure", "--json", str(sheet)], capture_output=True, text=True, check=True)
        cv = json.loads(measured.stdout)["cv"]
        assert f"{cv['value']:.{len(value.split('.')[1])}f}" == value, f"window {value}, command line {cv['value']}"
        assert cv["lo"] < 0.9710 < cv["hi"], f"the rendered truth 0.9710 is not in {cv['lo']} to {cv['hi']}"
        print(f"by keys alone: Cv {value} ± {u}, the same on the command line")


main()
