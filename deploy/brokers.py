"""How tasks reach the worker: Redis by its address, else files under ``var/``.

Celery only rings: what waits is rows. So whoever rings gives up within about a second, and
only the worker, which listens all day, has patience.
"""

from pathlib import Path
from urllib.parse import SplitResult

from deploy.reading import folder

# longer than any task may take, so that none is handed out twice while it runs
VISIBLE_AFTER_S = 600
RING = {
    "visibility_timeout": VISIBLE_AFTER_S,
    "socket_timeout": 1,
    "socket_connect_timeout": 1,
    # without it a broker that refuses is asked again without end
    "max_retries": 0,
}
LISTEN = {
    "visibility_timeout": VISIBLE_AFTER_S,
    "socket_timeout": 5,
    "socket_connect_timeout": 2,
    "health_check_interval": 25,
    "unacked_restore_interval": 10,
    "unacked_restore_throttle": 1,
}


def of_files(where: Path) -> dict[str, object]:
    """Return Celery's settings for a broker of files in this folder."""
    messages = str(folder(where / "messages"))
    return {
        "CELERY_BROKER_URL": "filesystem://localhost/",
        "CELERY_BROKER_TRANSPORT_OPTIONS": {
            "data_folder_in": messages,
            "data_folder_out": messages,
            "control_folder": str(folder(where / "control")),
        },
        # more than one process at the file broker starves
        "CELERY_WORKER_POOL": "solo",
    }


def broker(parts: SplitResult | None, var: Path) -> dict[str, object]:
    """Return Celery's settings for the broker at this address, or for files in ``var``."""
    if parts is None:
        return of_files(var / "broker")
    return {"CELERY_BROKER_URL": parts.geturl(), "CELERY_BROKER_TRANSPORT_OPTIONS": dict(RING)}
