"""Install what is missing, bring the database up to date, run web, worker and beat.

Plain standard library: this runs before anything is installed.
"""

import argparse
import os
import signal
import sys
from pathlib import Path

import ground
import installing
import keeper
import network
from fault import CannotStart

ROOT = Path(__file__).resolve().parent.parent.parent
ANY_PERSON = (
    "from django.contrib.auth import get_user_model; print(get_user_model().objects.exists())"
)


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="deploy/start", description="Start the fleet tool.")
    parser.add_argument("--host", default="127.0.0.1", help="address to answer at (0.0.0.0: all)")
    parser.add_argument("--port", type=ground.port_number, default=8000, help="default 8000")
    parser.add_argument("--empty", action="store_true", help="begin without the demo fleet")
    migrate = "bring the database up to date and end, as its owner before the app's role starts"
    parser.add_argument("--migrate", action="store_true", help=migrate)
    return parser.parse_args()


def begin(chosen: argparse.Namespace) -> None:
    var = Path(os.environ.get("FLEET_VAR") or ROOT / "var").resolve()
    ground.make_folder(var)
    with ground.only_one(var / "start.lock"):
        ground.mention_root()
        ground.check_port(chosen.host, chosen.port)
        python = installing.environment(ROOT / ".venv", ROOT / "requirements.txt")
        ground.check_disk(var, ground.RUN_FREE_MB)
        environ = os.environ | network.environment(chosen.host, chosen.port, os.environ)
        manage = keeper.Manage(python, ROOT, environ)
        manage.run("migrate", "--verbosity", "0")
        if chosen.migrate:
            return
        looked_at = ("--tag", "services", "--tag", "triggers", "--tag", "seal")
        manage.ask("check", "--deploy", "--database", "default", *looked_at)
        is_new = manage.ask("shell", "--verbosity", "0", "--command", ANY_PERSON) == "False"
        if is_new and not chosen.empty:
            manage.run("load_demo")
        people = var / "demo-people.txt"
        keeper.keep(
            keeper.processes(python, ROOT, environ, (chosen.host, chosen.port)),
            ready=lambda: network.answers(chosen.host, chosen.port),
            announce=lambda: announce(environ["FLEET_URL"], people, is_new and chosen.empty),
        )


def announce(address: str, people: Path, is_empty: bool) -> None:
    lines = ["", f"The fleet tool is running: {address}"]
    if is_empty:
        lines += [f"Name your first site and its manager: {address}/first/"]
    elif people.exists():
        lines += [people.read_text().strip()]
    lines += ["Stop it with Ctrl-C; nothing is lost.", ""]
    ground.say("\n".join(lines))


def main() -> None:
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.default_int_handler)
    try:
        begin(arguments())
    except CannotStart as fault:
        sys.exit(f"Not started: {fault}")
    except keeper.GaveUp as fault:
        sys.exit(f"Stopped: {fault}")
    except KeyboardInterrupt:
        ground.say("Stopped.")


if __name__ == "__main__":
    main()
