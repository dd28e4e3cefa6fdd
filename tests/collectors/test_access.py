"""Whom to ask and how: what is accepted, where secrets are kept, and that none of them is ever said."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import keyring
import keyring.errors
import pytest
from pydantic import ValidationError

from collectors.access import SnmpAccess, SwitchAccess, resolve_secret
from collectors.errors import SecretError

SECRET = "quite-a-secret"


def secret_file(folder: Path, content: str, mode: int = 0o600) -> Path:
    path = folder / "community"
    path.write_text(content, "utf-8")
    path.chmod(mode)
    return path


def test_a_secret_comes_from_the_environment(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("TONEOUT_TEST_SECRET", SECRET)
    assert resolve_secret("env:TONEOUT_TEST_SECRET", tmp_path).get_secret_value() == SECRET


@pytest.mark.parametrize("content", [SECRET, f"{SECRET}\n", f"{SECRET}\r\nsecond line\n", f"\ufeff{SECRET}\n"])
def test_a_secret_is_the_first_line_of_a_file(content: str, tmp_path: Path) -> None:
    secret_file(tmp_path, content)
    assert resolve_secret("file:community", tmp_path).get_secret_value() == SECRET


def test_a_file_is_found_from_the_site_folder_or_by_its_whole_path(tmp_path: Path) -> None:
    path = secret_file(tmp_path, SECRET)
    assert resolve_secret(f"file:{path}", Path("/nowhere")).get_secret_value() == SECRET


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o644, 0o660, 0o610])
def test_a_file_that_others_may_touch_is_refused_with_the_command_that_closes_it(mode: int, tmp_path: Path) -> None:
    path = secret_file(tmp_path, SECRET, mode)
    with pytest.raises(SecretError) as caught:
        resolve_secret("file:community", tmp_path)
    assert f"mode {mode:04o}" in caught.value.problem
    assert caught.value.hint == f"chmod 600 {path}"
    assert SECRET not in str(caught.value)


@pytest.mark.parametrize(
    ("reference", "problem"),
    [
        ("env:TONEOUT_TEST_NOT_SET", "not set"),
        ("env:TONEOUT_TEST_EMPTY", "empty"),
        ("file:nothing", "cannot read"),
        ("file:empty", "is empty"),
        ("file:binary", "not UTF-8"),
        ("file:.", "others may read"),
    ],
)
def test_a_secret_that_is_not_there_is_told_by_its_reference(
    reference: str, problem: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("TONEOUT_TEST_EMPTY", "")
    tmp_path.chmod(0o755)
    for name, content in (("empty", b""), ("binary", b"\xff\xfe\x00")):
        (tmp_path / name).write_bytes(content)
        (tmp_path / name).chmod(0o600)
    with pytest.raises(SecretError) as caught:
        resolve_secret(reference, tmp_path)
    assert caught.value.where == reference
    assert problem in caught.value.problem
    assert caught.value.hint


@pytest.fixture
def store(monkeypatch: pytest.MonkeyPatch) -> None:
    """A key store with one entry, and a service that is locked."""

    def get_password(service: str, user: str) -> str | None:
        if service == "broken":
            raise keyring.errors.KeyringError("locked")
        return SECRET if (service, user) == ("toneout", "wetlab") else None

    monkeypatch.setattr(keyring, "get_password", get_password)


@pytest.mark.usefixtures("store")
def test_a_secret_comes_from_the_key_store(tmp_path: Path) -> None:
    assert resolve_secret("keyring:toneout/wetlab", tmp_path).get_secret_value() == SECRET


@pytest.mark.usefixtures("store")
@pytest.mark.parametrize(
    ("reference", "problem"),
    [("keyring:toneout/nobody", "no such entry"), ("keyring:broken/wetlab", "no key store answers")],
)
def test_a_key_store_without_it_is_told(reference: str, problem: str, tmp_path: Path) -> None:
    with pytest.raises(SecretError, match=problem):
        resolve_secret(reference, tmp_path)


@pytest.mark.parametrize("typed", [SECRET, "public", "env:", "env:NOT A NAME", "keyring:only", "file:", "vault:x/y"])
def test_a_secret_that_someone_typed_in_is_refused_and_not_repeated(typed: str) -> None:
    with pytest.raises(ValidationError) as caught:
        SnmpAccess(community=typed)
    said = str(caught.value) + repr(caught.value)
    assert "expected env:NAME, keyring:SERVICE/USER or file:PATH" in said
    assert f"'{typed}'" not in said


@pytest.mark.parametrize(
    ("settings", "problem"),
    [
        ({}, "needs `community`"),
        ({"version": "1"}, "needs `community`"),
        ({"version": "3"}, "needs `user`"),
        ({"version": "3", "user": "u", "auth": "sha1"}, "`auth` and `auth_secret` go together"),
        ({"version": "3", "user": "u", "auth_secret": "env:A"}, "`auth` and `auth_secret` go together"),
        ({"version": "3", "user": "u", "privacy": "aes"}, "`privacy` and `privacy_secret` go together"),
        (
            {"version": "3", "user": "u", "privacy": "aes", "privacy_secret": "env:P"},
            "`privacy` needs `auth`",
        ),
        ({"community": "env:C", "timeout": 0}, "timeout"),
        ({"community": "env:C", "in_flight": 0}, "in_flight"),
        ({"community": "env:C", "port": 70000}, "port"),
        ({"community": "env:C", "comunity": "env:C"}, "comunity"),
    ],
)
def test_an_access_that_cannot_work_is_refused_with_the_reason(settings: dict[str, Any], problem: str) -> None:
    with pytest.raises(ValidationError) as caught:
        SnmpAccess.model_validate(settings)
    assert problem in str(caught.value)


def test_a_switch_needs_some_way_to_be_asked() -> None:
    with pytest.raises(ValidationError, match="needs `snmp` or `ssh`"):
        SwitchAccess.model_validate({"name": "a", "address": "192.0.2.1"})


def test_an_access_and_a_resolved_secret_say_nothing_secret(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("TONEOUT_TEST_SECRET", SECRET)
    access = SwitchAccess.model_validate(
        {"name": "a", "address": "192.0.2.1", "snmp": {"community": "env:TONEOUT_TEST_SECRET"}}
    )
    resolved = resolve_secret("env:TONEOUT_TEST_SECRET", tmp_path)
    for said in (repr(access), str(access), access.model_dump_json(), repr(resolved), str(resolved)):
        assert SECRET not in said
