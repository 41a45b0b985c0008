"""Where a fleet works: processes of this machine by default, or a cluster whose scheduler a person names.

dask.distributed runs what it is sent, so nobody unknown may reach it: even on this machine its processes speak TLS with certificates made
for the one run; a cluster is reached by tls:// with certificates of your own, by tcp:// on this machine's loopback alone.
"""
import ipaddress
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from ..errors import InputError

CARD = "GPU"
"""The resource by which workers with a graphics card are told: start them with `dask worker --resources GPU=1`."""
ALLOWED_LOSSES = 20
"""How often the workers under one job may be lost before the job itself is taken for the cause."""

_PAGES = ("distributed.scheduler.http.routes", "distributed.worker.http.routes", "distributed.nanny.http.routes")
"""Pages about the work that every process of a cluster would serve, unprotected, to whoever is on the machine: none."""
_ANY_PORT = {"dashboard": False, "dashboard_address": "127.0.0.1:0"}
"""Without it the scheduler takes one fixed port, and a second fleet on the machine stumbles over it."""


@dataclass(frozen=True, slots=True)
class Place:
    """scheduler: address, or None for this machine; workers: processes to start here; tls: PEM files of authority, certificate, key."""

    scheduler: str | None = None
    workers: int = 1
    tls: tuple[str, ...] = ()


def check_address(place: Place) -> None:
    """Refuses what would let strangers in. Raises InputError."""
    if place.scheduler is None:
        return
    given = urlsplit(place.scheduler)
    if given.scheme == "tls":
        if len(place.tls) != 3:
            raise InputError(f"a tls:// scheduler needs three PEM files, {len(place.tls)} given", place.scheduler,
                             "give --tls AUTHORITY,CERTIFICATE,KEY, those that the cluster's workers use")
    elif given.scheme != "tcp":
        raise InputError("a scheduler's address begins with tls:// or, on this machine, tcp://", place.scheduler,
                         "write it like tls://host:8786")
    elif not _is_loopback(given.hostname or ""):
        raise InputError("a tcp:// scheduler is not protected, so it is taken on this machine's loopback alone", place.scheduler,
                         "use tls:// with certificates for other machines")


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


@contextmanager
def connected(place: Place) -> Iterator[Any]:
    """A distributed.Client; what was started for it ends with it. Raises InputError: the extra is missing, nothing answers."""
    check_address(place)
    try:
        import dask  # noqa: PLC0415 - an extra
        from distributed import Client, LocalCluster  # noqa: PLC0415
        from distributed.security import Security  # noqa: PLC0415
    except ImportError:
        raise InputError("working as a fleet needs dask.distributed", todo="install it: pip install 'debrief[fleet]'") from None
    logging.getLogger("distributed").setLevel(logging.CRITICAL)
    with dask.config.set({"distributed.scheduler.allowed-failures": ALLOWED_LOSSES, **{pages: [] for pages in _PAGES}}):
        if place.scheduler is None:
            security = Security.temporary()
            with LocalCluster(n_workers=place.workers, threads_per_worker=1, processes=True, dashboard_address=None, memory_limit=0,
                              host="tls://127.0.0.1", protocol="tls://", security=security, scheduler_kwargs=_ANY_PORT,
                              silence_logs=logging.CRITICAL) as cluster, Client(cluster, security=security) as client:
                yield client
            return
        try:
            secured = Security(require_encryption=True, tls_ca_file=place.tls[0], tls_client_cert=place.tls[1],
                               tls_client_key=place.tls[2]) if place.tls else None
            client = Client(place.scheduler, timeout=10, security=secured)
        except OSError as error:
            raise InputError(f"the scheduler does not answer: {error}", place.scheduler, "start it, or check the address") from error
        with client:
            yield client


def card_resources(client: Any) -> dict[str, float] | None:
    """What a job asks for: a card, where any worker offers one."""
    workers = client.scheduler_info(n_workers=-1)["workers"].values()
    return {CARD: 1} if any(worker.get("resources", {}).get(CARD) for worker in workers) else None


def worker_count(client: Any) -> int:
    """How many jobs run at once: workers with a card, where there are any; else all threads."""
    workers = client.scheduler_info(n_workers=-1)["workers"].values()
    cards = sum(int(worker.get("resources", {}).get(CARD, 0)) for worker in workers)
    return cards or sum(worker["nthreads"] for worker in workers)
