#!/usr/bin/env bash
# Runs a window test on a display, a window manager, a session bus and an accessibility bus of its own.
#   tests/window/run.sh tests/window/whole_job.py target/debug/trajet [folder for screenshots]
# Needs: xvfb openbox xdotool imagemagick at-spi2-core dbus python3-pyatspi and the libraries of the window.
set -euo pipefail
here="$(cd "$(dirname "$0")" && pwd)"
if [ -z "${TRAJET_ON_DISPLAY:-}" ]; then
  export TRAJET_ON_DISPLAY=1
  unset WAYLAND_DISPLAY
  exec dbus-run-session -- xvfb-run -a -s "-screen 0 1280x800x24" "$0" "$@"
fi
openbox >/dev/null 2>&1 &
/usr/libexec/at-spi-bus-launcher --launch-immediately >/dev/null 2>&1 &
for status in IsEnabled ScreenReaderEnabled; do
  for _ in 1 2 3 4 5 6 7 8 9 10; do
    dbus-send --session --print-reply --dest=org.a11y.Bus /org/a11y/bus org.freedesktop.DBus.Properties.Set \
      string:org.a11y.Status string:$status variant:boolean:true >/dev/null 2>&1 && break
    sleep 0.5
  done
done
export LIBGL_ALWAYS_SOFTWARE=1 PYTHONPATH="$here"
/usr/bin/python3 "$@"
