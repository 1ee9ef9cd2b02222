"""What each command does. Modules are loaded only when their command runs: see app.cli."""
