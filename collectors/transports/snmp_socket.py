"""The UDP socket towards one switch, and what the network says in its place."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Callable
from typing import Any

from collectors.errors import Unreachable


async def connect(
    where: str, address: str, port: int, received: Callable[[bytes], None], failed: Callable[[OSError], None]
) -> asyncio.DatagramTransport:
    """A socket that hears this address alone. What comes goes to `received`, what the network reports to `failed`.

    `where` is the switch in errors. Raises Unreachable.
    """
    loop = asyncio.get_running_loop()
    try:
        transport, _ = await loop.create_datagram_endpoint(
            lambda: _Listener(received, failed), remote_addr=(address, port)
        )
    except (OSError, UnicodeError) as error:
        raise unreachable(where, error) from None
    return transport


async def heard_from_elsewhere(message: bytes, address: tuple[Any, ...], wait: float) -> str | None:
    """Sends a message to `address`; the other address from which something comes back within `wait` seconds."""
    loop = asyncio.get_running_loop()
    heard: asyncio.Future[str] = loop.create_future()
    family = socket.AF_INET6 if len(address) == 4 else socket.AF_INET
    try:
        transport, _ = await loop.create_datagram_endpoint(lambda: _Ear(heard, address), family=family)
        transport.sendto(message, address)
    except OSError:
        return None
    try:
        return await asyncio.wait_for(heard, wait)
    except TimeoutError:
        return None
    finally:
        transport.close()


def unreachable(where: str, error: OSError | UnicodeError) -> Unreachable:
    """What the operating system says about an address, as ours."""
    if isinstance(error, socket.gaierror | UnicodeError):
        return Unreachable(where, "its address does not resolve to a host", "the spelling of `address`, or a number")
    if isinstance(error, ConnectionRefusedError):
        return Unreachable(where, "refused: no SNMP agent listens on this port", "`port`, or enable SNMP there")
    return Unreachable(where, f"cannot be reached: {error.strerror or type(error).__name__}", "ping, from this machine")


class _Listener(asyncio.DatagramProtocol):
    def __init__(self, received: Callable[[bytes], None], failed: Callable[[OSError], None]) -> None:
        self._received = received
        self._failed = failed

    def datagram_received(self, data: bytes, addr: tuple[str | Any, int]) -> None:
        self._received(data)

    def error_received(self, exc: Exception) -> None:
        if isinstance(exc, OSError):
            self._failed(exc)


class _Ear(asyncio.DatagramProtocol):
    """Hears who answers a question that was sent to one address."""

    def __init__(self, heard: asyncio.Future[str], asked: tuple[Any, ...]) -> None:
        self._heard = heard
        self._asked = asked

    def datagram_received(self, data: bytes, addr: tuple[str | Any, int]) -> None:
        if addr[:2] != self._asked[:2] and not self._heard.done():
            self._heard.set_result(str(addr[0]))
