"""The live network as a fixture: one per module, for tests that leave it as they found it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.lab import station
from tests.lab.network import Network, missing


@pytest.fixture(scope="module")
def network() -> Iterator[Network]:
    """The station of `station.py`, built and settled; every test may use `monkeypatch`-free secrets from it."""
    if why := missing():
        pytest.skip(why)
    with Network() as built, pytest.MonkeyPatch.context() as environment:
        for name, value in built.secrets().items():
            environment.setenv(name, value)
        station.build(built)
        yield built


@pytest.fixture
def own_network() -> Iterator[Network]:
    """The same for one test alone, which may change it."""
    if why := missing():
        pytest.skip(why)
    with Network() as built:
        station.build(built)
        yield built
