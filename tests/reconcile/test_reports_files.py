"""Results as JSON and CSV, and the makers' names that reports print."""

from __future__ import annotations

import csv
import io
import json
from importlib import resources

import jsonschema
import pytest

from reconcile.makers import LOCAL, maker_of
from reconcile.reports import as_csv, as_json
from reconcile.result import CoverageGap, Result
from tests.nasty import NASTY, acting_characters
from tests.reconcile.handmade import everything, finding, result


def test_json_loads_as_the_same_result() -> None:
    assert Result.model_validate_json(as_json.render(everything())) == everything()


def test_json_fits_its_published_schema() -> None:
    # jsonschema is an independent reader of JSON Schema draft 2020-12.
    schema = as_json.schema_of(Result)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(as_json.render(everything())), schema)


def test_the_schema_refuses_what_no_report_says() -> None:
    broken = json.loads(as_json.render(everything()))
    broken["findings"][0]["severity"] = "dreadful"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(broken, as_json.schema_of(Result))


@pytest.mark.parametrize("nasty", NASTY.values(), ids=NASTY.keys())
def test_json_keeps_hostile_text_exactly_and_harmless(nasty: str) -> None:
    written = as_json.render(result(finding(seen=nasty)))
    assert json.loads(written)["findings"][0]["seen"] == nasty
    assert acting_characters(written) == set()


def read(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_csv_has_a_row_per_finding_and_per_gap() -> None:
    rows = read(as_csv.render(everything()))
    assert [row["what"] for row in rows] == ["finding"] * 2 + ["not looked at"] * 3
    assert rows[1]["port"] == "GigabitEthernet1/0/7"
    assert rows[1]["causes"] == "1"
    assert "in VLAN 15" in rows[1]["evidence"]


def test_csv_lines_end_as_rfc_4180_says() -> None:
    text = as_csv.render(everything())
    assert text.count("\r\n") == 6 == text.count("\n")


@pytest.mark.parametrize("nasty", NASTY.values(), ids=NASTY.keys())
def test_hostile_text_stays_in_its_csv_cell(nasty: str) -> None:
    gap = CoverageGap(switch=nasty, state=nasty, reason=nasty, hint=nasty)
    text = as_csv.render(result(finding(seen=nasty, device=nasty), gaps=[gap]))
    rows = read(text)
    assert len(rows) == 2
    assert set(rows[0]) == set(as_csv.COLUMNS)
    assert acting_characters(text.replace("\r\n", "\n")) == set()


def test_makers_come_from_the_ieee_registry() -> None:
    # IEEE registry of large blocks (MA-L) and of individual blocks (IAB): 00-0C-29, 00-50-C2-00-10
    assert maker_of("00:0c:29:12:34:56") == "VMware, Inc."
    assert maker_of("00:50:c2:00:10:00") == "JMBS Developpements"


def test_no_maker_is_claimed_for_an_address_that_the_registry_does_not_have() -> None:
    assert maker_of("f0:ff:fe:00:00:01") == ""
    assert maker_of("70:b3:d5:00:00:01") == ""  # handed out in parts of 4,096 addresses, which netaddr does not carry


def test_a_set_local_bit_is_named_as_such() -> None:
    assert maker_of("02:00:5e:00:00:01") == LOCAL
    assert maker_of("da:a1:19:00:00:01") == LOCAL


def test_addresses_that_are_no_card_are_told_by_their_kind() -> None:
    assert maker_of("00:00:5e:00:01:0a") == "virtual gateway"  # RFC 9568 section 7.3
    assert maker_of("01:80:c2:00:00:0e") == "group address"
    assert maker_of("00:00:00:00:00:00") == ""


def test_every_registered_maker_has_a_short_visible_name() -> None:
    index = resources.files("netaddr.eui").joinpath("oui.idx").read_text()
    blocks = [int(line.split(",")[0]) for line in index.splitlines()]
    assert len(blocks) > 20_000
    for block in blocks[::97]:
        mac = f"{block:06x}000001"
        name = maker_of(":".join(mac[i : i + 2] for i in range(0, 12, 2)))
        assert len(name) <= 62
        assert acting_characters(name) == set()
