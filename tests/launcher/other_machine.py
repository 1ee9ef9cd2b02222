"""Run the launcher as if on another machine: only what the operating system answers is replaced.

Arguments: the launcher, then its own. The machine is described by the JSON in MACHINE.
"""

import ctypes
import importlib.util
import json
import os
import platform
import runpy
import signal
import sys

machine = json.loads(os.environ["MACHINE"])
real_cdll, real_find_spec, real_walk = ctypes.CDLL, importlib.util.find_spec, os.walk


def load(name, *rest, **named):
    if any(word in name for word in ("pango", "harfbuzz")):
        if any(word in name for word in machine["libraries_missing"]):
            raise OSError(name)
        return None
    return real_cdll(name, *rest, **named)


def find_spec(name, package=None):
    return None if name in machine["modules_missing"] else real_find_spec(name, package)


def walk(top, *rest, **named):
    if "fonts" in str(top):
        return iter([(str(top), [], ["Plain.ttf"] if machine["fonts"] else ["README"])])
    return real_walk(top, *rest, **named)


def os_release():
    if not machine["os_release"]:
        raise OSError("no os-release here")
    return machine["os_release"]


platform.system = lambda: machine["system"]
platform.freedesktop_os_release = os_release
os.geteuid = lambda: machine["uid"]
ctypes.CDLL, importlib.util.find_spec, os.walk = load, find_spec, walk
sys.executable = sys._base_executable = machine["python"]
if machine["version"]:
    sys.version_info = tuple(machine["version"])
signal.signal(signal.SIGINT, signal.default_int_handler)  # a background job starts with Ctrl-C shut off
sys.argv = sys.argv[1:]
runpy.run_path(sys.argv[0], run_name="__main__")
