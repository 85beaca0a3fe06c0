"""The whole job with mouse and keyboard, from a photo to Cv; then the command line must give the same digits.

    tests/window/run.sh tests/window/whole_job.py PROGRAM [FOLDER FOR SCREENSHOTS]
"""

import json
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

from drive import Window

PHOTO_PX = (4000, 3000)
ROOT = pathlib.Path(__file__).resolve().parents[2]


def cv_on_screen(window):
    """The coefficient as the sheet's line tells it, once it is of the sheet as it is."""
    said = re.compile(r"^9 Coefficients: Cv (0\.\d+) ± (0\.\d+)(?!.*of the sheet before)")
    node = window.wait(said, seconds=60)
    return said.match(node.name).groups()


def main():
    program = str(pathlib.Path(sys.argv[1]).resolve())
    shots = pathlib.Path(sys.argv[2]).resolve() if len(sys.argv) > 2 else None
    if shots:
        shots.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        photo, sheet = folder / "plate-c.jpg", folder / "plate-c.toml"
        shutil.copy(ROOT / "samples" / "plate-c-run2.jpg", photo)

        # a photo by way of the open command and its path
        w = Window(program, data=folder / "data", shots=shots)
        w.wait("Mark a photo step by step")
        w.shot("1-start")
        w.key("ctrl+o")
        w.wait(re.compile("^Open a sheet or a photo:"))
        w.type(str(photo))
        w.key("Return")
        w.wait(re.compile(r"^1 Photo: plate-c\.jpg.*12\.0 Mpx"), seconds=60)
        w.shot("2-photo")

        # five marks, by number key and click
        w.take(2)
        w.mark("plumb line, mark 1", 997, 750, PHOTO_PX)
        w.mark("plumb line, mark 2", 1042, 2850, PHOTO_PX)
        w.shot("3-down")
        w.take(3)
        w.mark("scale, mark 1", 678, 486, PHOTO_PX)
        w.mark("scale, mark 2", 2842, 441, PHOTO_PX)
        w.fill(re.compile("^length between the marks"), "600 mm +- 0.3 mm")
        w.shot("4-scale")
        w.take(4)
        w.mark("orifice centre", 443, 840, PHOTO_PX)
        w.fill("orifice diameter", "10.00 mm +- 0.05 mm")
        w.shot("5-orifice")
        w.take(7)
        w.fill("head reading", "451 mm +- 0.6 mm")
        w.take(9)
        value, u = cv_on_screen(w)
        w.shot("6-coefficients")
        w.key("ctrl+s")
        w.wait("saved")
        w.key("ctrl+q")
        assert w.ended() == 0, "the program ended badly"

        # the command line gives the same digits
        measured = subprocess.run([program, "measure", "--json", str(sheet)], capture_output=True, text=True, check=True)
        cv = json.loads(measured.stdout)["cv"]
        digits = len(value.split(".")[1])
        assert f"{cv['value']:.{digits}f}" == value, f"the window says {value}, the command line {cv['value']}"
        assert f"{cv['u']:.{len(u.split('.')[1])}f}" == u, f"the window says ± {u}, the command line {cv['u']}"
        assert cv["lo"] < 0.9710 < cv["hi"], f"the rendered truth 0.9710 is not in {cv['lo']} to {cv['hi']}"

        # again, undone and redone
        before = sheet.read_text()
        w = Window(program, ["open", sheet], data=folder / "data", shots=shots)
        assert cv_on_screen(w) == (value, u), "the sheet opened again gives another value"
        w.take(4)
        w.fill("orifice diameter", "11.00 mm +- 0.05 mm")
        w.wait("not saved")
        w.key("Escape", "ctrl+z")
        w.wait("saved")
        w.key("ctrl+shift+z")
        w.wait("not saved")
        w.shot("7-redone")
        w.key("ctrl+q")
        w.wait(re.compile("is not saved"))
        w.shot("8-asked")
        w.click("Quit without saving")
        assert w.ended() == 0, "the program ended badly"
        assert sheet.read_text() == before, "a sheet that was not saved changed"
        print(f"window: Cv {value} ± {u}, the same on the command line")


main()
