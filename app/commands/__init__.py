"""What each command does. One function a command, named as it is typed."""

from app.commands.keeping import backup, restore, verify
from app.commands.people import user
from app.commands.running import demo, migrate, serve

__all__ = ["backup", "demo", "migrate", "restore", "serve", "user", "verify"]
