"""How often an address may try to sign in and may write; in bounded memory."""

from __future__ import annotations

import time
from collections import OrderedDict
from collections.abc import Callable
from ipaddress import IPv6Address, ip_address
from threading import Lock

Clock = Callable[[], float]

REMEMBERED = 2000  # addresses; beyond that the longest unseen is forgotten
FREE_TRIES = 3  # before the first wait
LONGEST_WAIT = 900.0  # s
FORGET_AFTER = 3600.0  # s without a try


def neighbour(address: str) -> str:
    """What counts as one asker: an IPv4 address, or the /64 an IPv6 address lies in."""
    try:
        found = ip_address(address)
    except ValueError:
        return address
    if not isinstance(found, IPv6Address):
        return address
    if found.ipv4_mapped:
        return str(found.ipv4_mapped)
    return str(IPv6Address(int(found) >> 64 << 64))


class Tries:
    """Sign-in attempts by address: after a few failures in a row each next one has to wait twice as long.

    Every try counts as failed until :meth:`worked` is told, so that many at once gain nothing.
    """

    def __init__(self, clock: Clock = time.monotonic) -> None:
        self._clock = clock
        self._failed: OrderedDict[str, tuple[int, float]] = OrderedDict()  # count, time of the last
        self._lock = Lock()

    @property
    def count(self) -> int:
        """How many addresses are remembered."""
        return len(self._failed)

    def wait(self, address: str) -> float:
        """Seconds this address has to wait; 0 lets it try, and counts the try."""
        who, now = neighbour(address), self._clock()
        with self._lock:
            count, last = self._failed.get(who, (0, now))
            if now - last > FORGET_AFTER:
                count = 0
            pause = min(2.0 ** (count - FREE_TRIES), LONGEST_WAIT) if count >= FREE_TRIES else 0.0
            left = last + pause - now
            if left > 0:
                return left
            self._failed[who] = (min(count + 1, 60), now)
            self._failed.move_to_end(who)
            if len(self._failed) > REMEMBERED:
                self._failed.popitem(last=False)
        return 0.0

    def worked(self, address: str) -> None:
        """This address knows the passphrase: its failures are forgotten."""
        with self._lock:
            self._failed.pop(neighbour(address), None)


class Allowance:
    """So many requests at once, then so many a second, for each address."""

    def __init__(self, at_once: int, a_second: float, clock: Clock = time.monotonic) -> None:
        self.at_once, self.a_second = at_once, a_second
        self._clock = clock
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()  # left, time of the last
        self._lock = Lock()

    @property
    def count(self) -> int:
        """How many addresses are remembered."""
        return len(self._left)

    def wait(self, address: str) -> float:
        """Seconds this address has to wait; 0 lets it through, and counts the request."""
        who, now = neighbour(address), self._clock()
        with self._lock:
            left, last = self._left.get(who, (float(self.at_once), now))
            left = min(left + (now - last) * self.a_second, float(self.at_once))
            if left < 1:
                return (1 - left) / self.a_second
            self._left[who] = (left - 1, now)
            self._left.move_to_end(who)
            if len(self._left) > REMEMBERED:
                self._left.popitem(last=False)
        return 0.0
