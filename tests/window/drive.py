"""Drives the real window as a person would: real pointer and keys (xdotool), names and values by AT-SPI."""

import os
import re
import subprocess
import time

import pyatspi


# what the photo table leaves free around a photo that is shown whole, in points (src/app/photo_table/view.rs)
FIT_MARGIN = 12


class Absent(AssertionError):
    """Something that should be on the screen is not."""


def walk(node):
    """The node and all below it."""
    yield node
    try:
        children = [child for child in node]
    except Exception:  # a widget that went away while it was read
        return
    for child in children:
        if child is not None:
            yield from walk(child)


def name_of(node):
    try:
        return node.name or ""
    except Exception:
        return ""


class Window:
    """One run of the program on the display at hand."""

    def __init__(self, program, args=(), data=None, shots=None):
        env = dict(os.environ)
        if data:
            env["XDG_DATA_HOME"] = str(data)
        self.process = subprocess.Popen([program, *map(str, args)], env=env)
        self.shots = shots
        self.app = self.until("the program on the accessibility bus", self._find_app, seconds=60)
        self.id = self.until("a window", self._find_window, seconds=30)
        subprocess.run(["xdotool", "windowactivate", "--sync", self.id], check=False)

    def _find_app(self):
        for app in pyatspi.Registry.getDesktop(0):
            try:
                if app is not None and app.get_process_id() == self.process.pid:
                    return app
            except Exception:
                continue
        return None

    def _find_window(self):
        out = subprocess.run(
            ["xdotool", "search", "--onlyvisible", "--pid", str(self.process.pid)], capture_output=True, text=True
        )
        return out.stdout.split()[-1] if out.stdout.split() else None

    def until(self, what, test, seconds=20.0):
        """Waits until `test` gives something; fails with what was on the screen."""
        end = time.time() + seconds
        while True:
            found = test()
            if found:
                return found
            if time.time() > end:
                if getattr(self, "app", None) is not None:
                    for node in walk(self.app):
                        if name_of(node):
                            print("   ", node.getRoleName(), repr(name_of(node)))
                raise Absent(f"{what}: not there after {seconds} s")
            time.sleep(0.1)

    def find(self, name, role=None):
        """The node of that name (a text, or a compiled pattern), or None."""
        for node in walk(self.app):
            said = name_of(node)
            hit = name.search(said) if isinstance(name, re.Pattern) else said == name
            if hit and (role is None or node.getRoleName() == role):
                return node
        return None

    def wait(self, name, role=None, seconds=20.0):
        return self.until(f"{role or 'something'} named {name!r}", lambda: self.find(name, role), seconds)

    def text(self, name, role=None):
        """What stands in a field, or what a label says."""
        node = self.wait(name, role)
        return node.queryText().getText(0, -1)

    def extents(self, node):
        box = node.queryComponent().getExtents(pyatspi.XY_SCREEN)
        return box.x, box.y, box.width, box.height

    def click_at(self, x, y):
        subprocess.run(["xdotool", "mousemove", "--sync", str(round(x)), str(round(y))], check=True)
        time.sleep(0.15)
        subprocess.run(["xdotool", "click", "1"], check=True)
        time.sleep(0.25)

    def click(self, name, role=None):
        x, y, w, h = self.extents(self.wait(name, role))
        self.click_at(x + w / 2, y + h / 2)

    def key(self, *keys):
        subprocess.run(["xdotool", "key", "--delay", "60", *keys], check=True)
        time.sleep(0.2)

    def type(self, text):
        subprocess.run(["xdotool", "type", "--delay", "25", "--", text], check=True)
        time.sleep(0.2)

    def fill(self, field, text):
        """Clicks into a field, replaces what stands there, leaves it with Tab."""
        self.click(field, "entry")
        self.key("ctrl+a")
        self.type(text)
        self.until(f"{text!r} in the field {field!r}", lambda: self.text(field, "entry") == text)
        self.key("Tab")

    def on_photo(self, x_px, y_px, size_px):
        """Where a pixel of a photo that is shown whole is on the screen."""
        x, y, w, h = self.extents(self.wait("photo"))
        scale = min((w - 2 * FIT_MARGIN) / size_px[0], (h - 2 * FIT_MARGIN) / size_px[1])
        return x + w / 2 + (x_px - size_px[0] / 2) * scale, y + h / 2 + (y_px - size_px[1] / 2) * scale

    def mark(self, name, x_px, y_px, size_px):
        """Clicks on the photo, and waits until the mark of that name is announced."""
        self.click_at(*self.on_photo(x_px, y_px, size_px))
        self.wait(name)

    def take(self, number):
        """Takes a line of the sheet in hand by its number key; leaves whatever field has the keyboard first."""
        self.key("Escape")
        time.sleep(0.5)
        line = re.compile(rf"^{number} [A-Z]")

        def in_hand():
            node = self.find(line, "toggle button")
            if node is not None and node.getState().contains(pyatspi.STATE_PRESSED):
                return True
            # a key that comes before the window has the keyboard is lost; a second one does no harm
            self.key(str(number))
            time.sleep(0.3)
            return False

        self.until(f"line {number} in hand", in_hand)

    def shot(self, name):
        if self.shots:
            time.sleep(0.4)
            subprocess.run(["import", "-window", "root", str(self.shots / f"{name}.png")], check=True)

    def ended(self, seconds=20.0):
        """Waits for the program to end; its exit status."""
        return self.process.wait(timeout=seconds)
