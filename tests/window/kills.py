"""Kills the window (SIGKILL) at random moments of editing and saving, again and again.

After each kill the sheet's file must hold, byte for byte, one of the texts that were saved or about to be saved, and
whatever was edited since must be offered at the next start, but for the last moment.

    tests/window/run.sh tests/window/kills.py PROGRAM [TRIALS] [SEED]
"""

import os
import pathlib
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib

from drive import Window

ROOT = pathlib.Path(__file__).resolve().parents[2]


def main():
    program = str(pathlib.Path(sys.argv[1]).resolve())
    trials = int(sys.argv[2]) if len(sys.argv) > 2 else 200
    seed = int(sys.argv[3]) if len(sys.argv) > 3 else 7
    chance = random.Random(seed)
    kept_seen = old = new = 0
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        shutil.copy(ROOT / "samples" / "old-print-run11.jpg", folder)
        sheet = folder / "old-print-run11.toml"
        first = (ROOT / "samples" / "old-print-run11.toml").read_text()
        sheet.write_text(first)
        for trial in range(trials):
            data = folder / f"data{trial}"
            before = sheet.read_text()
            w = Window(program, ["open", sheet], data=data)
            w.wait(re.compile(r"^1 Photo: .*Mpx"), seconds=60)
            w.take(4)
            w.click("orifice diameter")
            w.key("ctrl+a")
            # typing and saving go on in a process of their own while the kill falls
            typed = f"{chance.uniform(9, 12):.2f} mm"
            busy = subprocess.Popen(
                ["sh", "-c", f"xdotool type --delay 15 '{typed}'; xdotool key ctrl+s; xdotool type --delay 15 ' +- 0.05 mm'; xdotool key ctrl+s"]
            )
            time.sleep(chance.uniform(0.0, 1.2))
            w.process.kill()
            w.process.wait()
            busy.wait()
            after = sheet.read_text()
            tomllib.loads(after)
            if after == before:
                old += 1
            else:
                new += 1
                assert "diameter" in after, f"trial {trial}: the sheet is cut\n{after}"
                changed = [l for l in after.splitlines() if l not in before.splitlines()]
                assert len(changed) == 1 and changed[0].lstrip().startswith("diameter"), f"trial {trial}: {changed}"
                stated = changed[0].split('"')[1] if '"' in changed[0] else changed[0].split("=")[1].strip()
                whole = f"{typed} +- 0.05 mm"
                assert whole.startswith(stated), f"trial {trial}: {stated!r} was never typed"
            for kept in (data / "trajet" / "kept").glob("*.kept"):
                holds = tomllib.loads(kept.read_text())
                tomllib.loads(holds["text"]) and holds["sheet"]
                kept_seen += 1
            strays = [p.name for p in folder.iterdir() if p.name.startswith(".trajet-")]
            for stray in strays:
                os.unlink(folder / stray)
            # what was kept is offered, and taking it up gives it back
            if trial % 20 == 0 and list((data / "trajet" / "kept").glob("*.kept")):
                w = Window(program, [], data=data)
                w.wait(re.compile("^Take it up"))
                w.process.kill()
                w.process.wait()
            shutil.rmtree(data, ignore_errors=True)
            print(f"{trial + 1} of {trials}: as before {old}, as saved {new}, kept {kept_seen}", flush=True)
        print(f"{trials} kills, seed {seed}: sheet as before {old}, as saved {new}, never another; unsaved text kept {kept_seen} times")


main()
