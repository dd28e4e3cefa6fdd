"""The child process of `simulator.Simulator`: the real snmpsim, answering on sockets that its parent bound.

Run as `python simulator_child.py FOLDER OPTION...`, with standard input open as long as the parent lives.
Not for import elsewhere: it loads the whole of snmpsim and adjusts it for one process.
"""

from __future__ import annotations

import importlib
import os
import shutil
import socket
import sys
import threading
from typing import Any


class _InheritedSocket:
    """Stands where snmpsim makes an endpoint out of HOST:PORT; here the text is an inherited descriptor.

    The parent binds, so that no port is lost to another process between choosing it and listening on it,
    and no request that comes early is lost.
    """

    def add(self, descriptor: str) -> tuple[Any, str]:
        """A transport on that socket and the text to show for it, which is what snmpsim expects back."""
        endpoints: Any = importlib.import_module("snmpsim.endpoints")
        inherited = socket.socket(fileno=int(descriptor))
        return endpoints.udp.UdpTransport().open_server_mode(sock=inherited), descriptor


def _end_with_parent(folder: str) -> None:
    """Blocks until the parent is gone or wants us to end, however it ended; then leaves nothing behind."""
    while os.read(0, 4096):  # not sys.stdin: its lock would be held when the interpreter ends
        pass
    shutil.rmtree(folder, ignore_errors=True)
    os._exit(0)


def _allow_open_files() -> None:
    """A socket and a recording per switch may exceed the usual soft limit of 1024 files."""
    import resource

    _, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    most = 65_536 if hard == resource.RLIM_INFINITY else hard
    resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))


def _index_with(names: tuple[str, ...]) -> None:
    """Has snmpsim keep its index in the first of these dbm modules that this Python has."""
    database: Any = importlib.import_module("snmpsim.record.search.database")
    for name in names:
        try:
            database.dbm = importlib.import_module(name)
        except ImportError:
            continue
        return


def main() -> int:
    """Serves until the parent ends or snmpsim gives up; its exit code in the latter case."""
    folder, *options = sys.argv[1:]
    threading.Thread(target=_end_with_parent, args=(folder,), daemon=True).start()
    _allow_open_files()
    endpoints: Any = importlib.import_module("snmpsim.endpoints")
    endpoints.IPv4TransportEndpoints = _InheritedSocket
    # Python 3.13 would choose SQLite, which takes five seconds to index what the others index in one.
    _index_with(("dbm.gnu", "dbm.ndbm", "dbm.dumb"))
    datafile: Any = importlib.import_module("snmpsim.datafile")
    datafile.DataFile.max_queue_entries = 100_000  # the stock 31 reopens index files all the time above 31 switches
    responder: Any = importlib.import_module("snmpsim.commands.responder")
    sys.argv[1:] = options
    return int(responder.main())


if __name__ == "__main__":
    sys.exit(main())
