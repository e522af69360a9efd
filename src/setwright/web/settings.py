"""How a server is set up: where the record lies, whom it listens to, what it allows."""

from __future__ import annotations

import getpass
import ipaddress
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from setwright.base.errors import InputRefused
from setwright.web.worker import Bounds

__all__ = ["Settings", "default_calculation", "default_place", "default_readers", "default_workers", "is_local", "own_name"]

_MEGABYTE: Final = 1_000_000
_SHORT: Final = Bounds(processor_s=60.0, wall_s=120.0, memory=2_000 * _MEGABYTE)


def default_place() -> Path:
    """The record's folder: $SETWRIGHT_RECORD, else `setwright-record` in the person's home."""
    stated = os.environ.get("SETWRIGHT_RECORD")
    return Path(stated) if stated else Path.home() / "setwright-record"


def default_workers() -> int:
    """Half of the computer's cores: a proof uses several threads itself."""
    return max(1, (os.cpu_count() or 1) // 2)


def is_local(host: str) -> bool:
    """Whether an address can be reached from this computer only."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _is_address(text: str) -> bool:
    try:
        ipaddress.ip_address(text)
    except ValueError:
        return False
    return True


def own_name() -> str:
    """The name of whoever runs this."""
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # no name for this process: a container without an entry
        return "local"


def default_readers() -> int:
    """Processes for short work: two at least, so that one long text does not keep others waiting."""
    return max(2, (os.cpu_count() or 1) // 2)


def default_calculation() -> Bounds:
    """What one calculation may take: three hours of processor time, two by the clock, half of the computer's memory."""
    names = getattr(os, "sysconf_names", {})
    known = "SC_PHYS_PAGES" in names and "SC_PAGE_SIZE" in names
    memory = os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") if known else 16_000 * _MEGABYTE
    return Bounds(processor_s=3 * 3600.0, wall_s=2 * 3600.0, memory=memory // 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """One server.

    `accounts`: people sign in; without, everybody who reaches the server is `local_name` and may do everything, which is allowed on
    this computer only. `tls`: the server itself speaks HTTPS; `proxy`: the address of a proxy before it that
    does, through which alone it is reached. `names`: host names by which browsers may
    call it, besides the local ones. `workers`: calculations at the same time; `readers`: processes for short work; `short` and
    `calculation`: what one piece of each may take.
    """

    place: Path
    database: str = ""
    host: str = "127.0.0.1"
    accounts: bool = False
    tls: bool = False
    proxy: str = ""
    names: tuple[str, ...] = ()
    local_name: str = field(default_factory=own_name)
    workers: int = field(default_factory=default_workers)
    readers: int = field(default_factory=default_readers)
    short: Bounds = _SHORT
    calculation: Bounds = field(default_factory=default_calculation)
    waiting: int = 50
    largest_upload: int = 200 * _MEGABYTE
    session_hours: float = 12.0
    idle_hours: float = 2.0

    @property
    def encrypted(self) -> bool:
        """Whether browsers reach it by HTTPS only, so that cookies are marked so."""
        return self.tls or bool(self.proxy)

    @property
    def readable_by_others(self) -> bool:
        """Whether what is sent can be read on the way by others in the network."""
        return not self.encrypted and not is_local(self.host)

    def __post_init__(self) -> None:
        if self.proxy and not _is_address(self.proxy):
            raise InputRefused.because(f'"{self.proxy}" is no address of a proxy', remedy='write its number, such as "127.0.0.1"')
        if not self.accounts and not is_local(self.host):
            said = f"{self.host} can be reached from other computers, but nobody has to sign in"
            remedy = "add accounts (--accounts), or listen on 127.0.0.1"
            raise InputRefused.because(said, why="anybody in the network could change jobs and sign them off", remedy=remedy)
