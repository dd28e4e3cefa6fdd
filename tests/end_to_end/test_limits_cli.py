"""`toneout limits`, `spare` and `cords` as people run them: on the hatchery, on the demo, and on a bare schedule."""

from __future__ import annotations

import csv
import io
import json
import shutil
import unicodedata
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from collectors.snapshot_files import load_snapshot
from reconcile.cli.asking import keep, latest, previous
from reconcile.cli.commands import app
from reconcile.limits.values import DEFAULT_LIMITS
from reconcile.site import load_site
from tests.nasty import NASTY
from tests.worlds.files import SITES

FORMS = ("text", "json", "csv")


def toneout(*arguments: str | Path) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments], prog_name="toneout")


@pytest.fixture
def hatchery(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SITES / "cable-limits", tmp_path / "hatchery"))


@pytest.fixture
def schedule(tmp_path: Path) -> Path:
    """A flat schedule with none of the optional columns, and no snapshot."""
    folder = tmp_path / "flat"
    folder.mkdir()
    (folder / "toneout.toml").write_text('[site]\nname = "Flat"\n[map]\nform = "schedule"\npath = "p.csv"\n')
    (folder / "p.csv").write_text("outlet,jack,switch,port,device\nWL-01:1,PP-A:1,SW-1,1,pump\nWL-01:2,PP-A:2,,,\n")
    return folder


# By hand, from the figures in tests/worlds/cable_limits.py.
BAD = {
    ("fixed cable length", "hatch-1:Gi1/0/2", "96 m; the limit is 90 m"),
    ("fixed cable gauge", "hatch-1:Gi1/0/7", "fixed cable F07 has 28 AWG; 24 AWG is the thinnest"),
    ("cord length for the gauge", "hatch-1:Gi1/0/3", "12 m of cords lose more than 88 m"),  # 12 x 1.5 > 102 - 88
    ("mixed categories", "hatch-1:Gi1/0/4", "Category 5E by cord H04"),
    ("length at temperature", "hatch-1:Gi1/0/6", "86 m at 40 C, where 84 m are allowed"),
    ("reach", "hatch-1:Te1/1/1", "beyond 37 m"),  # 42 + 1 + 2 m
    ("reach", "hatch-1:Te1/1/2", "beyond 55 m"),  # 59 + 1 + 2 m
    ("reach", "hatch-1:Te1/1/3", "31.5 m at least; Category 8 is rated for 30 m"),  # 23.5 + 3 + 5 m
    ("reach", "hatch-1:Te1/1/4", "10GBASE-SR reaches 82 m on OM2, not 122 m"),  # 120 + 1 + 1 m
    ("fibre polarity", "nurs-1:Te1/1/3", "2 crossings"),
    ("cord at the outlet", "hatch-1:Gi1/0/13", "cord D16 has 24 m at the outlet; 22 m are the most"),
}
HINTS = {
    ("shield", "hatch-1:Gi1/0/5", "the screen is not continuous: cord H05 has none"),
    ("shield", "hatch-1:Gi1/0/12", "screened parts in an unscreened channel: cord H12, cord D12"),
    ("fibre joint", "nurs-1:Te1/1/3", "62.5 um (OM1) is joined to fibre with a core of 50 um"),
}
SEEN = [
    ("duplex mismatch", "Gi1/0/7", "Gi1/0/7 runs half duplex, pump (LLDP) runs full duplex"),
    ("power budget", "", "85 % of the supply is drawn, the switch warns at 80 %"),  # 25.4 of 30 W
    ("power budget", "", "may draw 90 W of 65 W"),  # planned: three of class 4, 30 W each
    ("rising errors", "Gi1/0/3", "3400 more FCS errors"),  # 3412 - 12, 142 an hour
    ("rising errors", "Gi1/0/7", "19 more alignment errors, 57 more late collisions"),
    ("slow link", "Gi1/0/8", "the link runs at 100 Mbit/s"),
]


def test_the_hatchery_shows_one_finding_of_each_kind_with_its_figures(hatchery: Path) -> None:
    outcome = toneout("--site", hatchery, "limits", "--format", "json")
    report = json.loads(outcome.stdout)
    bad = {(r["aspect"], r["channel"]): r["because"] for r in report["rows"] if r["fit"] in ("fail", "warn")}
    sound = {(r["aspect"], r["channel"]) for r in report["rows"] if r["hint"]}
    assert {(aspect, channel) for aspect, channel, _ in BAD} == set(bad) - sound
    assert all(words in bad[aspect, channel] for aspect, channel, words in (*BAD, *HINTS))
    assert sound == {(aspect, channel) for aspect, channel, _ in HINTS}  # remembered rules are hints
    seen = sorted((f["kind"], f["where"]["port"], f["seen"]) for f in report["findings"])
    assert [row[:2] for row in seen] == [row[:2] for row in SEEN]
    assert all(words in told for (*_, words), (*_, told) in zip(SEEN, seen, strict=True))
    assert outcome.exit_code == 1


def test_what_the_switches_see_is_in_the_nightly_report_and_the_record_s_lengths_are_not(hatchery: Path) -> None:
    report = json.loads(toneout("--site", hatchery, "reconcile", "--format", "json").stdout)
    assert sorted((f["kind"], f["where"]["port"]) for f in report["findings"]) == [row[:2] for row in SEEN]
    assert len(report["causes"]) == len(SEEN)


def test_the_snapshot_before_can_be_named(hatchery: Path) -> None:
    (hatchery / "snapshots" / "previous.json").rename(hatchery / "old.json")
    kinds = [
        f["kind"] for f in json.loads(toneout("--site", hatchery, "reconcile", "--format", "json").stdout)["findings"]
    ]
    assert "rising errors" not in kinds
    named = toneout("--site", hatchery, "reconcile", "--before", hatchery / "old.json", "--format", "json")
    assert "rising errors" in [f["kind"] for f in json.loads(named.stdout)["findings"]]


def test_every_limit_is_listed_with_its_source() -> None:
    rows = json.loads(toneout("--site", SITES / "cable-limits", "limits", "--list", "--format", "json").stdout)
    assert len(rows) == len(DEFAULT_LIMITS.items())
    assert all(row["source"] and row["unit"] and row["standing"] for row in rows)


def test_a_site_s_own_limit_is_used_and_named(hatchery: Path) -> None:
    with (hatchery / "toneout.toml").open("a") as file:
        file.write('\n[limits."fixed cable length"]\nvalue = 30\nreason = "hot above the tanks"\n')
    shown = toneout("--site", hatchery, "limits").stdout
    assert "the limit is 30 m" in shown
    assert "set by the site: hot above the tanks" in shown


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ('[limits."fixed cable lenght"]\nvalue = 80\nreason = "hot"', "fixed cable length"),
        ('[limits."fixed cable length"]\nvalue = 80', "reason"),
        ('[limits."fixed cable length"]\nvalue = -1\nreason = "hot"', "greater than 0"),
        ('[labels]\ncord = "{nothing}"', "no other fields"),
        ("[cords]\nstock_m = []", "stock_m"),
    ],
)
def test_a_wrong_setting_is_told_by_key_and_line(lines: str, says: str, schedule: Path) -> None:
    path = schedule / "toneout.toml"
    path.write_text(path.read_text() + lines + "\n")
    outcome = toneout("--site", schedule, "limits")
    assert outcome.exit_code == 2
    assert says in outcome.stderr
    assert "line " in outcome.stderr


@pytest.mark.parametrize("command", [("limits",), ("spare",), ("cords",), ("cords", "--labels", "--new")])
@pytest.mark.parametrize("form", FORMS)
def test_a_schedule_without_optional_columns_is_told_what_is_missing(
    command: tuple[str, ...], form: str, schedule: Path
) -> None:
    outcome = toneout("--site", schedule, *command, "--format", form)
    assert outcome.exit_code == (3 if command == ("limits",) else 0), outcome.output
    shown = outcome.stdout
    if command != ("spare",) or form == "text":
        assert "of the fixed cable" in shown or "height unit" in shown or "the rack of" in shown or "length of" in shown


def test_spare_proposes_places_and_their_cords(hatchery: Path) -> None:
    outcome = toneout("--site", SITES / "cable-limits", "spare", "--need", "hatchery=1", "--format", "json")
    report = json.loads(outcome.stdout)
    assert report["proposals"][0]["lacking"].startswith("only 0 cables to hatchery")
    assert outcome.exit_code == 1


def test_the_demo_has_places_in_the_wet_lab() -> None:
    outcome = toneout("--site", SITES / "saltmarsh", "spare", "--need", "wet lab=2", "--format", "json")
    (proposal,) = json.loads(outcome.stdout)["proposals"]
    # Of the wet lab's jacks, PP-A:10, :12 and :14 are wired and not patched; acc-1 serves that panel, 7 units below.
    assert [place["jack"] for place in proposal["places"]] == ["PP-A:10", "PP-A:12"]
    assert {place["port"].partition(":")[0] for place in proposal["places"]} == {"acc-1"}
    assert {place["cord_m"] for place in proposal["places"]} == {1.0}
    assert outcome.exit_code == 0


def test_cords_of_a_proposal_use_a_cord_that_is_set_free() -> None:
    outcome = toneout(
        "--site", SITES / "saltmarsh", "cords", "--need", "bunkhouse=1", "--free", "P211", "--format", "json"
    )
    report = json.loads(outcome.stdout)
    assert [one["label"] for one in report["reused"]] == ["P211"]
    assert [(line["length_m"], line["category"]) for line in report["order"]] == [(3.0, "6A")]


def test_the_order_list_is_a_table_for_spreadsheets() -> None:
    rows = list(
        csv.DictReader(io.StringIO(toneout("--site", SITES / "saltmarsh", "cords", "--new", "--format", "csv").stdout))
    )
    lines = [row for row in rows if row["what"] == "order"]
    assert sum(int(row["pieces"]) for row in lines) > 83
    assert {"red", "green"} <= {row["colour"] for row in lines}


def test_the_labels_of_the_demo_collide_nowhere() -> None:
    report = json.loads(toneout("--site", SITES / "saltmarsh", "cords", "--labels", "--format", "json").stdout)
    assert len(report["labels"]) > 100
    assert [label for label in report["labels"] if label["problem"]] == []


@pytest.mark.parametrize("need", ["attic", "=2", "attic=0", "attic=x"])
def test_a_need_that_is_none_is_wrong_use(need: str) -> None:
    outcome = toneout("--site", SITES / "saltmarsh", "spare", "--need", need)
    assert outcome.exit_code == 2
    assert '--need "wet lab=2"' in outcome.stderr


def test_the_latest_snapshot_becomes_the_previous_one(hatchery: Path) -> None:
    site = load_site(hatchery)
    old, new = load_snapshot(previous(site)), load_snapshot(latest(site))
    keep(old.model_copy(update={"finished": new.finished}), site)
    assert load_snapshot(previous(site)).started == new.started
    assert sorted(path.name for path in (hatchery / "snapshots").iterdir()) == ["latest.json", "previous.json"]


def test_a_broken_previous_snapshot_does_not_stop_the_night(hatchery: Path) -> None:
    (hatchery / "snapshots" / "previous.json").write_text("{")
    assert toneout("--site", hatchery, "reconcile").exit_code == 1
    assert toneout("--site", hatchery, "limits").exit_code == 1


@pytest.mark.parametrize("command", [("limits", "--all"), ("spare",), ("cords", "--labels")])
def test_hostile_names_reach_no_terminal(command: tuple[str, ...], schedule: Path) -> None:
    table = io.StringIO()
    writer = csv.writer(table)
    writer.writerow(["outlet", "jack", "switch", "port", "device", "room"])
    for n, text in enumerate(NASTY.values(), 1):
        writer.writerow([f"WL-{n}:1", f"PP-A:{n}", "SW-1", str(n), text, text])
        writer.writerow([f"XL-{n}:1", f"PP-B:{n}", "", "", "", text])
    (schedule / "p.csv").write_text(table.getvalue(), "utf-8", errors="replace")
    shown = "".join(toneout("--site", schedule, *command, "--format", form).stdout for form in FORMS)
    assert "invoice" in shown
    assert not {char for char in shown if unicodedata.category(char) in ("Cc", "Cf")} - {"\n", "\r"}


def test_the_second_demo_lays_out_the_hatchery_and_judges_it(tmp_path: Path) -> None:
    outcome = toneout("demo", "--limits", tmp_path / "mine")
    assert outcome.exit_code == 0
    assert "BEYOND A LIMIT" in outcome.stdout
    assert (tmp_path / "mine" / "snapshots" / "previous.json").is_file()
    assert toneout("demo", "--limits", tmp_path / "mine").exit_code == 2
