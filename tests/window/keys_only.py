"""The whole job by keyboard alone: no pointer is moved. From a photo to Cv, saved, and measured by the command line.

    tests/window/run.sh tests/window/keys_only.py PROGRAM [FOLDER FOR SCREENSHOTS]
"""

import re
import subprocess

import pyatspi
from drive import walk
from plate_c import bench, command_line_agrees, cv_on_screen, opened, saved_and_left

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
    with bench() as (program, shots, folder):
        subprocess.run(["xdotool", "mousemove", "1", "1"], check=True)
        w = opened(program, shots, folder)
        w.take(2)
        w.key("p")
        place(w, "plumb line, mark 1", 997, 750)
        w.shot("2-placed")
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
            w.shot(f"3-line-{line}")
        w.take(9)
        value, u = cv_on_screen(w)
        w.key("f")
        w.shot("4-coefficients")
        saved_and_left(w)
        command_line_agrees(program, folder / "plate-c.toml", value, u)
        print(f"by keys alone: Cv {value} ± {u}, the same on the command line")


main()
