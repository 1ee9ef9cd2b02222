"""The Python of the other machine: makes an environment with itself in it, and tells what was asked of it."""

import json
import os
import shutil
import signal
import sys
from pathlib import Path

me, *arguments = sys.argv[1:]
switches = Path(os.environ["SWITCHES"])
with (switches / "log").open("a") as log:
    log.write(" ".join(arguments) + "\n")
if arguments[:2] == ["-m", "venv"]:
    folder = Path(arguments[2]) / "bin"
    folder.mkdir(parents=True)
    shutil.copy(me, folder / "python")
elif arguments[:3] == ["-m", "pip", "install"]:
    if (switches / "offline").exists():
        print("Collecting flask")
        print("ERROR: Could not find a version that satisfies the requirement flask")
        sys.exit(1)
    if (switches / "kill launcher").exists():
        os.kill(os.getppid(), signal.SIGKILL)
        sys.exit(1)
    if (switches / "ctrl-c").exists():
        os.kill(os.getppid(), signal.SIGINT)
        signal.pause()
elif arguments[:1] == ["-P"]:
    said = {"arguments": arguments, "cwd": str(Path.cwd()), "PYTHONPATH": os.environ["PYTHONPATH"]}
    print(json.dumps(said))
    sys.exit(int(os.environ.get("PROGRAM_EXIT", "0")))
