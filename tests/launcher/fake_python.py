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
    (folder.parent / "lib/python3.11/site-packages").mkdir(parents=True)
elif arguments[:4] == ["-m", "pip", "config", "list"]:
    settings = switches / "pip's settings"
    print(settings.read_text() if settings.exists() else "global.cert='/etc/certificates'")
elif arguments[:2] == ["-m", "compileall"]:
    print("*** Error compiling 'a template of somebody else'")
    sys.exit(1)
elif arguments[:3] == ["-m", "pip", "install"] and arguments[-1].endswith("installer.lock") and (switches / "no uv").exists():
    print("ERROR: No matching distribution found for uv")
    sys.exit(1)
elif arguments[:2] == ["-m", "uv"] and (switches / "uv breaks").exists():
    print("Resolved 49 packages")
    print("error: Failed to fetch: `flask`")
    sys.exit(2)
elif arguments[:3] == ["-m", "pip", "install"] or arguments[:2] == ["-m", "uv"]:
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
    for name in ("flask", "sqlalchemy"):
        (Path(me).parent.parent / f"lib/python3.11/site-packages/{name}-1.dist-info").mkdir(exist_ok=True)
elif arguments[:1] == ["-P"]:
    said = {"arguments": arguments, "cwd": str(Path.cwd()), "PYTHONPATH": os.environ["PYTHONPATH"]}
    print(json.dumps(said))
    sys.exit(int(os.environ.get("PROGRAM_EXIT", "0")))
