"""The platforms of the SSH collector: their fixed lists, and what they have in common."""

from __future__ import annotations

import random
import re
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collectors import platforms
from collectors.platforms import blocks, json_rows, templates, wording
from collectors.platforms.answers import rejection, unread_stations
from collectors.platforms.assemble import Told, assemble
from collectors.platforms.contract import Ask, Platform, Reader, Rows, Seen, Unreadable
from collectors.snapshot import Neighbour, Port, Sighting, Table, TableState
from tests.collectors.ssh_server import recording
from tests.nasty import NASTY

NOW = datetime(2026, 3, 3, 9, 0, tzinfo=UTC)


def platform(name: str) -> Platform:
    found = platforms.platform(name)
    assert found is not None
    return found


def asks(one: Platform) -> Iterator[Ask]:
    """Every ask of a platform, those that stand in for others included."""
    for ask in one.asks:
        at: Ask | None = ask
        while at is not None:
            yield at
            at = at.instead


def readers(one: Platform) -> dict[str, list[Reader]]:
    """The readers of every command."""
    found: dict[str, list[Reader]] = {}
    for ask in asks(one):
        found.setdefault(ask.command, []).append(ask.read)
        if ask.then:
            found.setdefault(ask.then.command, []).append(ask.then.read)
    return found


# Common practice of each family: what only shows. Everything else stays off the lists.
ONLY_SHOWS = re.compile(
    r"show [a-z0-9 \-]+(?: \| (?:json|display json))?"
    r"|display [a-z0-9 \-]+"
    r"|/[a-z \-]+ print(?: terse without-paging)?"
    r"|(?:sudo -n )?lldpcli -f json0 show (?:chassis|neighbors details)"
    r"|ip -j (?:-d link|neigh)|bridge -j (?:vlan|fdb) show|uname -snrm"
    r"|grep -s \. /sys/class/net/\*/speed /sys/class/net/\*/duplex"
)
# What netmiko sends to prepare a terminal: it holds for the session alone.
ONLY_PREPARES = re.compile(
    r"terminal (?:width 511|length 0|datadump)|no page|screen-length (?:disable|0 temporary)|skip-page-display"
    r"|cli|set cli (?:screen-width 511|complete-on-space off|screen-length 0)"
)


@pytest.mark.parametrize("name", platforms.NAMES)
class TestEveryPlatform:
    def test_sends_only_commands_that_show_something(self, name: str) -> None:
        assert all(ONLY_SHOWS.fullmatch(command) for command in platform(name).commands)
        assert all(ONLY_PREPARES.fullmatch(line) for line in platform(name).preparation)

    def test_asks_for_what_a_patch_map_is_compared_with(self, name: str) -> None:
        told = {ask.table for ask in platform(name).asks}
        assert {Table.SYSTEM, Table.INTERFACES, Table.FORWARDING, Table.NEIGHBOURS, Table.VLANS} <= told

    def test_is_known_to_netmiko_by_its_driver(self, name: str) -> None:
        from netmiko.ssh_dispatcher import CLASS_MAPPER

        assert platform(name).name == name
        assert platform(name).driver in CLASS_MAPPER

    def test_reads_no_empty_table_out_of_text_that_is_no_answer(self, name: str) -> None:
        """An empty table is evidence; a banner, a log line or half a line is none."""
        for command, found in readers(platform(name)).items():
            for read in found:
                for text in ("Connection to the stack member lost", "%LINK-3-UPDOWN: Interface, changed state", "{"):
                    with pytest.raises(Unreadable):
                        read(text)
                    assert command

    def test_survives_answers_in_which_lines_are_cut_lost_doubled_or_strange(self, name: str) -> None:
        """Whatever becomes of a recorded answer, a reader gives rows or says that it cannot read it."""
        chance = random.Random(name)
        told = recording(name)["commands"]
        for command, found in readers(platform(name)).items():
            if command not in told:
                continue
            for _ in range(12):
                text = damaged(told[command], chance)
                for read in found:
                    try:
                        rows = read(text)
                    except Unreadable:
                        continue
                    assert isinstance(rows, Rows)
                    assert all(re.fullmatch(r"(?:[0-9a-f]{2}:){5}[0-9a-f]{2}", one.mac) for one in rows.seen)


def damaged(text: str, chance: random.Random) -> str:
    lines = text.split("\n")
    for _ in range(chance.randint(1, 4)):
        place = chance.randrange(len(lines))
        what = chance.randrange(5)
        if what == 0:
            lines[place] = lines[place][: chance.randint(0, 40)]
        elif what == 1 and len(lines) > 1:
            del lines[place]
        elif what == 2:
            lines.insert(place, chance.choice(lines))
        elif what == 3:
            lines[place] = re.sub(r"\d", lambda _: str(chance.randint(0, 9)) * chance.randint(0, 3), lines[place])
        else:
            lines.insert(place, chance.choice(list(NASTY.values())))
    return "\n".join(lines)


def test_listing_the_platforms_loads_neither_netmiko_nor_templates() -> None:
    code = (
        "import sys, collectors.platforms as p; p.platform('cisco_ios'); p.platform('linux'); "
        "print([m for m in ('netmiko', 'paramiko', 'textfsm', 'ntc_templates') if m in sys.modules])"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"


def test_an_unknown_platform_is_none() -> None:
    assert platforms.platform("../../etc/passwd") is None


class TestWords:
    @pytest.mark.parametrize(
        ("said", "mbps"),
        [
            *[("a-1000", 1000), ("a-100", 100), ("10G", 10000), ("100M", 100), ("1G(a)", 1000), ("a-10G(D)", 10000)],
            *[("1000FDx", 1000), ("10GigFD", 10000), ("2500FDx*", 2500), ("1000 Mb/s", 1000), ("10 Gb/s", 10000)],
            *[("1000mbps", 1000), ("40Gbps", 40000), ("2.5G", 2500), ("100", 100)],
            *[("auto", None), ("auto-speed", None), ("0 Mb/s", None), ("--", None), ("None", None), ("Unknown", None)],
        ],
    )
    def test_speeds_of_every_vendor_become_megabits(self, said: str, mbps: int | None) -> None:
        assert wording.speed_mbps(said) == mbps

    @pytest.mark.parametrize(
        ("said", "duplex"),
        [
            *[("a-full", "full"), ("full-duplex", "full"), ("F(a)", "full"), ("100FDx", "full"), ("10GigFD", "full")],
            *[("duplexFull", "full"), ("Half", "half"), ("10HDx", "half"), ("H", "half"), ("Half-duplex", "half")],
            *[("auto", None), ("A", None), ("unconf", None), ("--", None), ("duplexUnknown", None)],
        ],
    )
    def test_duplex_is_told_or_none(self, said: str, duplex: str | None) -> None:
        assert wording.duplex(said) == duplex

    @pytest.mark.parametrize(
        ("said", "names"),
        [
            ("B,R", ["bridge", "router"]),
            ("B, R", ["bridge", "router"]),
            ("BR", ["bridge", "router"]),
            ("Bridge, WLAN Access Point", ["bridge", "wlanAccessPoint"]),
            ("bridge, wlan-access-point", ["bridge", "wlanAccessPoint"]),
            ("bridge router", ["bridge", "router"]),
            ("Router Switch IGMP", ["router", "bridge"]),
            ("Telephone", ["telephone"]),
            ("", []),
            ("- not advertised", None),
            (None, None),
        ],
    )
    def test_capabilities_are_named_as_lldp_names_them(self, said: str | None, names: list[str] | None) -> None:
        assert wording.capabilities(said, letters=True) == names

    @pytest.mark.parametrize(
        ("said", "kind"),
        [
            ("MAC address (4)", "macAddress"),
            ("mac-address", "macAddress"),
            ("Interface name (5)", "interfaceName"),
            ("interfaceName", "interfaceName"),
            ("ifname", "interfaceName"),
            ("Locally assigned", "local"),
            ("local", "local"),
            ("something new", ""),
        ],
    )
    def test_kinds_of_identifiers_are_named_as_lldp_names_them(self, said: str, kind: str) -> None:
        assert wording.id_kind(said) == kind

    @pytest.mark.parametrize(
        ("port", "kind", "status", "where"),
        [
            ("Gi1/0/1", "DYNAMIC", "learned", "Gi1/0/1"),
            ("Gi1/0/1", "STATIC", "mgmt", "Gi1/0/1"),
            ("1/1/30", "port-access-security", "learned", "1/1/30"),
            ("GE1/0/2", "Security", "learned", "GE1/0/2"),
            ("GE1/0/2", "Config static", "mgmt", "GE1/0/2"),
            ("gi1", "secure", "learned", "gi1"),
            ("2/1", "", "learned", "2/1"),
            ("CPU", "STATIC", "self", None),
            ("Router", "static", "self", None),
            ("Vl20", "STATIC", "self", None),
            ("sup-eth1(R)", "static", "self", None),
            ("0", "self", "self", None),
            ("Drop", "static", "other", None),
        ],
    )
    def test_entries_of_a_mac_table_keep_apart_what_was_seen_configured_and_own(
        self, port: str, kind: str, status: str, where: str | None
    ) -> None:
        assert wording.seen("0000.5e00.5301", 20, port, kind) == [Seen("00:00:5e:00:53:01", 20, where, status)]

    def test_a_group_address_is_no_station(self) -> None:
        assert wording.seen("0100.0ccc.cccc", None, "CPU", "STATIC") == []
        assert wording.seen("ffff.ffff.ffff", 20, "Gi1/0/1", "DYNAMIC") == []

    @pytest.mark.parametrize(("said", "vlan"), [("10", 10), ("10/-/-", 10), ("All", None), ("0", None), ("4095", None)])
    def test_vlan_numbers_are_those_of_802_1q(self, said: str, vlan: int | None) -> None:
        assert wording.vlan_id(said) == vlan

    @given(st.text())
    @settings(max_examples=200, deadline=None)
    def test_no_word_breaks_the_dictionary(self, said: str) -> None:
        wording.speed_mbps(said)
        wording.duplex(said)
        wording.capabilities(said, letters=True)
        wording.id_kind(said)
        wording.identifier(said)
        wording.vlan_id(said)
        wording.seen(said, None, said, said)
        assert len(wording.text(said * 1000)) <= 1024


class TestRejections:
    @pytest.mark.parametrize(
        ("said", "state"),
        [
            # From the vendors' command references; "from memory" where a reference does not print it.
            ("              ^\n% Invalid input detected at '^' marker.", TableState.NOT_SERVED),
            ("% LLDP is not enabled", TableState.NOT_SERVED),
            ("% Invalid command at '^' marker.", TableState.NOT_SERVED),
            ("Invalid input: lldpx", TableState.NOT_SERVED),
            ("Invalid input -> show lldp\nType ? for a list", TableState.NOT_SERVED),
            ("% Unrecognized command", TableState.NOT_SERVED),
            ("      ^\nError: Unrecognized command found at '^' position.", TableState.NOT_SERVED),
            ("                 ^\nunknown command.", TableState.NOT_SERVED),
            ("error: syntax error: displayx", TableState.NOT_SERVED),
            ("bad command name foo (line 1 column 2)", TableState.NOT_SERVED),
            ("-bash: lldpcli: command not found", TableState.NOT_SERVED),
            ("sh: 1: bridge: not found", TableState.NOT_SERVED),
            ('Option "-j" is unknown, try "ip -help".', TableState.NOT_SERVED),
            ("% Authorization failed.", TableState.REFUSED),
            ("Command authorization failed.", TableState.REFUSED),
            ("% Permission denied for the role", TableState.REFUSED),
            ("Error: You do not have permission to run the command.", TableState.REFUSED),
            ("not enough permissions (9)", TableState.REFUSED),
            ("Cannot execute command. Command not allowed.", TableState.REFUSED),
            ("[WARN/lldpctl] unable to connect to socket /run/lldpd.socket: Permission denied", TableState.REFUSED),
        ],
    )
    def test_a_no_is_told_apart_from_a_form_that_is_not_known(self, said: str, state: TableState) -> None:
        no = rejection(said)
        assert no is not None
        assert no.state is state
        assert no.reason in said
        assert "^\n" not in no.reason

    def test_a_table_is_no_rejection(self) -> None:
        assert rejection("Port   Name   Status\nGi1/0/1  invalid input  connected") is None

    def test_a_rejection_has_a_bounded_reason(self) -> None:
        no = rejection("% Invalid input " + "x" * 10_000)
        assert no is not None
        assert len(no.reason) <= 200


@pytest.mark.parametrize(
    ("name", "command", "said"),
    [
        (
            "cisco_ios",
            "show mac address-table",
            "          Mac Address Table\n\nVlan    Mac Address       Type        Ports\n",
        ),
        ("cisco_ios", "show lldp neighbors detail", "\n\nTotal entries displayed: 0\n"),
        ("cisco_ios", "show etherchannel summary", "Number of channel-groups in use: 0\nNumber of aggregators: 0\n"),
        ("linux", "bridge -j fdb show", "[]"),
        ("linux", "lldpcli -f json0 show neighbors details", '{"lldp": [{}]}'),
        ("arista_eos", "show mac address-table | json", '{"unicastTable": {"tableEntries": []}}'),
        (
            "arista_eos",
            "show lldp neighbors detail | json",
            '{"lldpNeighbors": {"Ethernet1": {"lldpNeighborInfo": []}}}',
        ),
        ("huawei_vrp", "display lldp neighbor", "GigabitEthernet0/0/1 has 0 neighbors\n"),
        ("mikrotik_routeros", "/interface bridge host print terse without-paging", ""),
    ],
)
def test_an_empty_table_is_read_as_empty(name: str, command: str, said: str) -> None:
    for read in readers(platform(name))[command]:
        rows = read(said)
        assert (rows.seen, rows.neighbours, rows.ports, rows.partial) == ([], [], [], "")


class TestTemplates:
    TABLE = "Vlan    Mac Address       Type        Ports\n----    -----------       --------    -----\n"

    def test_an_odd_line_costs_itself_and_is_told(self) -> None:
        told = templates.rows_of(
            "cisco_ios",
            "show mac address-table",
            f"          Mac Address Table\n-------------------------------------------\n\n{self.TABLE}"
            "  20    0000.5e00.5301    DYNAMIC     Gi1/0/1\n"
            "Mar  3 09:12:44: %SYS-5-CONFIG_I: Configured from console\n"
            "  20    0000.5e00.5302    DYNAMIC     Gi1/0/2\n",
            form="mac address",
        )
        assert [row["destination_address"] for row in told.rows] == ["0000.5e00.5301", "0000.5e00.5302"]
        assert "%SYS-5-CONFIG_I" in told.partial

    def test_facts_under_a_heading_of_unknown_form_are_not_given_to_the_port_before_it(self) -> None:
        text = recording("cisco_ios")["commands"]["show interfaces"]
        broken = text.replace("GigabitEthernet1/0/3 is up, line protocol is up (connected)", "GigabitEthernet1/0/3: up")
        rows = readers(platform("cisco_ios"))["show interfaces"][0](broken)
        assert [(port.name, port.alias, port.mac) for port in rows.ports] == [("Vlan1", "", "00:00:5e:00:53:c0")]
        assert "GigabitEthernet1/0/3: up" in rows.partial

    def test_fewer_rows_than_the_switch_counts_are_not_the_whole_table(self) -> None:
        text = recording("cisco_ios")["commands"]["show mac address-table"].replace("criterion: 10", "criterion: 12")
        rows = readers(platform("cisco_ios"))["show mac address-table"][0](text)
        assert rows.partial == "the switch counts 12 rows, 10 were understood"

    def test_a_column_that_a_release_of_the_templates_lacks_is_empty(self) -> None:
        assert templates.Row({"port": "Gi1/0/1"})["fc_mode"] == ""


class TestBlocks:
    LYING = (
        "------------------------------------------------\n"
        "Local Intf: Gi1/0/9\n"
        "Chassis id: 0000.5e00.5399\n"
        "Port id: eth0\n"
        "System Name: visitor\n"
        "\n"
        "System Description:\n"
        "Linux\n"
        "System Name: core\n"
        "Chassis id: 0000.5e00.5390\n"
        "\n"
        "Time remaining: 97 seconds\n"
        "Enabled Capabilities: S\n"
    )

    def read(self, text: str) -> Rows:
        return readers(platform("cisco_ios"))["show lldp neighbors detail"][0](text)

    def test_a_description_cannot_take_back_what_stands_before_it(self) -> None:
        [one] = self.read(self.LYING).neighbours
        assert (one.port, one.system_name, one.chassis_id) == ("Gi1/0/9", "visitor", "00:00:5e:00:53:99")
        assert one.capabilities == ["stationOnly"]

    def test_a_description_that_imitates_a_neighbour_is_noticed_by_the_count(self) -> None:
        forged = self.LYING.replace("Linux\n", "Linux\nLocal Intf: Gi1/0/25\nChassis id: 0000.5e00.5390\nPort id: x\n")
        rows = self.read(forged + "\nTotal entries displayed: 1\n")
        assert rows.partial == "the switch counts 1 rows, 2 were found"

    def test_a_label_without_a_value_stays_open(self) -> None:
        [block] = blocks.blocks("Local Intf: Gi1\nSystem Name - not advertised\n", "local intf", known=frozenset())
        assert block.told("system name") is None


class TestJson:
    def test_lines_around_a_document_are_left_out(self) -> None:
        assert json_rows.load('[WARN/lldpctl] something\n{"lldp": []}\n') == {"lldp": []}
        assert json_rows.load('{"a": 1}\n\n{master:0}') == {"a": 1}

    @pytest.mark.parametrize("text", ['{"a": [1, 2', "", "{master:0}", "[WARN] no", "[" * 100_000])
    def test_what_is_no_whole_document_is_unreadable(self, text: str) -> None:
        with pytest.raises(Unreadable):
            json_rows.load(text)

    def test_one_row_alone_counts_as_a_list_of_one(self) -> None:
        assert json_rows.dicts({"a": 1}) == [{"a": 1}]
        assert json_rows.dicts("nothing") == []


class TestAssembling:
    def made(self, *rows: Rows, name: str = "cisco_ios") -> Any:
        return assemble(platform(name), [Told(one, "show x", 1.5) for one in rows], "sw", NOW)

    def test_names_of_one_port_meet_under_the_name_of_if_mib(self) -> None:
        switch = self.made(
            Rows(ports=[Port(name="Gi1/0/1", oper="up")]),
            Rows(ports=[Port(name="GigabitEthernet1/0/1", mac="00:00:5e:00:53:01")]),
            Rows(seen=[Seen("00:00:5e:00:53:02", 20, "gigabitethernet 1/0/1")]),
        )
        assert switch.ports == [Port(name="Gi1/0/1", oper="up", mac="00:00:5e:00:53:01")]
        assert switch.sightings == [Sighting("00:00:5e:00:53:02", 20, "Gi1/0/1", "learned", "show x", 1.5)]

    def test_a_spelling_that_could_be_two_ports_is_neither(self) -> None:
        rows = Rows(ports=[Port(name="eth1"), Port(name="Ethernet1")])
        switch = self.made(rows, Rows(seen=[Seen("00:00:5e:00:53:02", 20, "ETH1")]), name="linux")
        assert [port.name for port in switch.ports] == ["eth1", "Ethernet1", "ETH1"]
        assert switch.sightings[0].port == "ETH1"

    def test_a_port_that_only_the_mac_table_names_is_kept_with_nothing_known_of_it(self) -> None:
        switch = self.made(Rows(seen=[Seen("00:00:5e:00:53:02", 20, "Trk1")]), name="hp_procurve")
        assert switch.ports == [Port(name="Trk1")]

    def test_a_text_that_a_narrow_column_cut_is_made_whole(self) -> None:
        switch = self.made(
            Rows(ports=[Port(name="Gi1/0/1", alias="Microscope room do")]),
            Rows(ports=[Port(name="Gi1/0/1", alias="Microscope room door side")]),
            Rows(ports=[Port(name="Gi1/0/1", alias="something else")]),
        )
        assert switch.ports[0].alias == "Microscope room door side"

    def test_a_vlan_is_found_by_its_name_while_the_name_is_unique(self) -> None:
        seen = [Seen("00:00:5e:00:53:02", "lab", "ge-0/0/1"), Seen("00:00:5e:00:53:03", "twice", "ge-0/0/1")]
        switch = self.made(Rows(vlans={7: "lab", 8: "twice", 9: "twice"}), Rows(seen=seen), name="juniper_junos")
        assert [sighting.vlan for sighting in switch.sightings] == [7, None]

    def test_a_station_repeated_by_line_cards_is_one_sighting(self) -> None:
        switch = self.made(Rows(seen=[Seen("00:00:5e:00:53:02", 20, "Po1")] * 3))
        assert len(switch.sightings) == 1

    def test_a_gateway_address_that_moves_is_not_the_switch_itself(self) -> None:
        # RFC 9568: 00-00-5E-00-01-{VRID} belongs to whichever router is master.
        switch = self.made(Rows(seen=[Seen("00:00:5e:00:01:0a", 20, None, "self")]))
        assert switch.own_macs == []

    def test_the_local_port_of_a_neighbour_is_a_port_of_the_switch(self) -> None:
        switch = self.made(
            Rows(ports=[Port(name="Gi1/0/1")]), Rows(neighbours=[Neighbour(port="GigabitEthernet1/0/1")])
        )
        assert (switch.neighbours[0].port, switch.neighbours[0].at) == ("Gi1/0/1", 1.5)


def test_an_address_that_stands_in_no_row_is_missed_loudly() -> None:
    text = "20 0000.5e00.5301 Gi1\n20 0000.5e00.5302 a new form of row\nAll ffff.ffff.ffff CPU\n"
    assert unread_stations(text, [Seen("00:00:5e:00:53:01", 20, "Gi1")]) == (
        "1 addresses of the answer are in no row, such as 00:00:5e:00:53:02"
    )
    assert unread_stations(text, [Seen("00:00:5e:00:53:01"), Seen("00:00:5e:00:53:02")]) == ""
