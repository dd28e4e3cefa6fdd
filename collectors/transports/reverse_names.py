"""Host names of IP addresses, from whatever this machine asks for names (DNS, hosts file), in bounded time.

The system's resolver cannot be interrupted and waits for many seconds where no name server answers. So it is asked
in threads that nobody waits for beyond the deadline, and that do not keep the program alive.
"""

from __future__ import annotations

import queue
import socket
import threading
import time
from collections.abc import Callable, Collection

AT_ONCE = 16
DEADLINE = 10.0
"""Seconds for all addresses together."""


def reverse_names(
    ips: Collection[str], *, deadline: float = DEADLINE, ask: Callable[[str], str] | None = None
) -> tuple[dict[str, str], int]:
    """The names found, and how many addresses were not answered for when the time was up.

    An address that has no name is answered for. `ask` takes the place of the resolver in tests; it raises OSError
    where there is no name.
    """
    waiting: queue.SimpleQueue[str] = queue.SimpleQueue()
    answers: queue.SimpleQueue[tuple[str, str]] = queue.SimpleQueue()
    asked = list(dict.fromkeys(ips))
    for ip in asked:
        waiting.put(ip)
    for _ in range(min(AT_ONCE, len(asked))):
        threading.Thread(target=_ask_all, args=(waiting, answers, ask or _by_system), daemon=True).start()
    names: dict[str, str] = {}
    end, missing = time.monotonic() + deadline, len(asked)
    while missing:
        try:
            ip, name = answers.get(timeout=max(end - time.monotonic(), 0.001))
        except queue.Empty:
            break
        missing -= 1
        if name:
            names[ip] = name
    return names, missing


def _ask_all(
    waiting: queue.SimpleQueue[str], answers: queue.SimpleQueue[tuple[str, str]], ask: Callable[[str], str]
) -> None:
    """One thread: asks until nothing is left. A resolver may raise for what it cannot spell, too."""
    while True:
        try:
            ip = waiting.get_nowait()
        except queue.Empty:
            return
        try:
            answers.put((ip, ask(ip)))
        except (OSError, ValueError):
            answers.put((ip, ""))


def _by_system(ip: str) -> str:
    """Raises OSError where the address has no name."""
    return socket.getnameinfo((ip, 0), socket.NI_NAMEREQD)[0]
