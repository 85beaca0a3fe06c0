"""The whole job with mouse and keyboard, from a photo to Cv; then the command line must give the same digits.

    tests/window/run.sh tests/window/whole_job.py PROGRAM [FOLDER FOR SCREENSHOTS]
"""

import re

from drive import Window
from plate_c import bench, command_line_agrees, cv_on_screen, opened, saved_and_left

PHOTO_PX = (4000, 3000)


def main():
    with bench() as (program, shots, folder):
        sheet = folder / "plate-c.toml"
        w = opened(program, shots, folder)
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
        saved_and_left(w)
        command_line_agrees(program, sheet, value, u)

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
