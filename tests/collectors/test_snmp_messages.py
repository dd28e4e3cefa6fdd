"""Messages as octets: our reader and writer against pysnmp's, and against what hostile datagrams hold."""

from __future__ import annotations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from pyasn1.codec.ber import decoder, encoder
from pydantic import SecretStr
from pysnmp.proto import rfc1157, rfc1902, rfc1905
from pysnmp.proto.api import v2c

from collectors.transports import snmp_ber as ber
from collectors.transports.snmp_ber import Unusual
from collectors.transports.snmp_envelopes import CommunityEnvelope
from collectors.transports.snmp_pysnmp import read_unusual_pdu
from tests.collectors.liars import message

arcs = st.integers(0, 2**32 - 1)
oids = st.builds(
    lambda first, second, rest: (first, second, *rest),
    st.sampled_from([0, 1, 2]),
    st.integers(0, 39),
    st.lists(arcs, max_size=20).map(tuple),
)
numbers = st.integers(-(2**31), 2**31 - 1)

VALUES = st.one_of(
    numbers.map(rfc1902.Integer32),
    st.binary(max_size=300).map(rfc1902.OctetString),
    oids.map(rfc1902.ObjectIdentifier),
    st.binary(min_size=4, max_size=4).map(rfc1902.IpAddress),
    st.integers(0, 2**32 - 1).map(rfc1902.Counter32),
    st.integers(0, 2**32 - 1).map(rfc1902.Gauge32),
    st.integers(0, 2**32 - 1).map(rfc1902.TimeTicks),
    st.integers(0, 2**64 - 1).map(rfc1902.Counter64),
    st.binary(max_size=20).map(rfc1902.Opaque),
    st.sampled_from([rfc1905.noSuchObject, rfc1905.noSuchInstance, rfc1905.endOfMibView, rfc1902.Null("")]),
)


def plain(value: object) -> object:
    """A pysnmp value as ours are."""
    if isinstance(value, rfc1902.ObjectIdentifier):
        return tuple(value)
    if isinstance(value, rfc1902.OctetString | rfc1902.IpAddress | rfc1902.Opaque):
        return bytes(value)
    return None if isinstance(value, rfc1902.Null | rfc1905.univ.Null) else int(value)  # type: ignore[call-overload]  # pysnmp has no types


@settings(deadline=None)
@given(request_id=numbers, status=st.integers(0, 18), bindings=st.lists(st.tuples(oids, VALUES), max_size=30))
def test_responses_that_pysnmp_writes_are_read_as_it_means_them(
    request_id: int, status: int, bindings: list[tuple[ber.Oid, object]]
) -> None:
    pdu = v2c.GetResponsePDU()
    v2c.apiPDU.set_defaults(pdu)
    v2c.apiPDU.set_request_id(pdu, request_id)
    v2c.apiPDU.set_error_status(pdu, status)
    v2c.apiPDU.set_varbinds(pdu, bindings)
    read = ber.read_pdu(encoder.encode(pdu), 0)
    assert (read.kind, read.request_id, read.status) == (ber.RESPONSE, request_id, status)
    assert [ber.oid_arcs(binding.name) for binding in read.bindings] == [oid for oid, _ in bindings]
    assert [ber.value_of(binding.tag, binding.content) for binding in read.bindings] == [plain(v) for _, v in bindings]
    assert read_unusual_pdu(encoder.encode(pdu), "2c") == read


@given(oid=oids)
def test_object_identifiers_are_written_as_pysnmp_writes_them(oid: ber.Oid) -> None:
    assert ber.tlv(ber.OBJECT_ID, ber.oid_octets(oid)) == encoder.encode(rfc1902.ObjectIdentifier(oid))
    assert ber.oid_arcs(ber.oid_octets(oid)) == oid


@given(number=st.integers(-(2**63), 2**63 - 1))
def test_numbers_are_written_as_pysnmp_writes_them(number: int) -> None:
    assert ber.integer(number) == encoder.encode(rfc1905.univ.Integer(number))


@given(names=st.lists(oids, max_size=30), repetitions=st.integers(0, 200), request_id=st.integers(0, 2**31 - 1))
def test_requests_are_what_pysnmp_reads_them_as(names: list[ber.Oid], repetitions: int, request_id: int) -> None:
    written = ber.request(ber.GET_BULK, request_id, [ber.oid_octets(name) for name in names], 0, repetitions)
    pdu, rest = decoder.decode(written, asn1Spec=rfc1905.GetBulkRequestPDU())
    assert rest == b""
    assert int(v2c.apiBulkPDU.get_request_id(pdu)) == request_id
    assert int(v2c.apiBulkPDU.get_max_repetitions(pdu)) == repetitions
    assert [tuple(name) for name, _ in v2c.apiBulkPDU.get_varbinds(pdu)] == names


@pytest.mark.parametrize(
    ("tag", "content", "value"),
    [
        (0x41, b"\xff\xff\xff\xff", 4294967295),  # RFC 2578: Counter32; some agents leave the leading zero out
        (0x41, b"\0\xff\xff\xff\xff", 4294967295),
        (0x42, b"\x80", 128),
        (0x02, b"\x80", -128),
        (0x02, b"", 0),
        (0x46, b"\0" + b"\xff" * 8, 2**64 - 1),
        (0x05, b"", None),
    ],
)
def test_numbers_are_read_with_the_sign_of_their_type(tag: int, content: bytes, value: object) -> None:
    assert ber.value_of(tag, content) == value


def test_a_response_of_version_1_is_read_too() -> None:
    """RFC 1157: noSuchName(2) with the binding that it is about."""
    pdu = rfc1157.GetResponsePDU()
    for field, value in (("request-id", 7), ("error-status", 2), ("error-index", 1)):
        pdu[field] = value
    pdu["variable-bindings"] = rfc1157.VarBindList()
    read = ber.read_pdu(encoder.encode(pdu), 0)
    assert (read.request_id, read.status, read.position) == (7, 2, 1)
    assert read_unusual_pdu(encoder.encode(pdu), "1") == read


def test_a_form_that_only_pysnmp_reads_is_read_by_it() -> None:
    """BER allows a length of unknown extent, which RFC 3417 section 8 forbids to SNMP."""
    good = message(1, 9, [ber.Binding(ber.oid_octets((1, 3, 6, 1)), ber.OCTETS, b"x")])
    at = pdu_of(good)
    odd = b"\xa2\x80" + good[at + 2 :] + b"\0\0"
    with pytest.raises(Unusual):
        ber.read_pdu(odd, 0)
    assert read_unusual_pdu(odd, "2c") == ber.read_pdu(good, at)


def pdu_of(data: bytes) -> int:
    """Where the PDU of a community message starts."""
    at, _ = ber.header(data, 0, ber.SEQUENCE)
    _, at = ber.read_integer(data, at)
    return ber.read_octets(data, at)[1]


ENVELOPE = CommunityEnvelope("2c", SecretStr("public"))

GOOD = message(
    1, 9, [ber.Binding(ber.oid_octets((1, 3, 6, 1, 2, 1, n, 300)), ber.OCTETS, b"text" * n) for n in range(9)]
)


@settings(deadline=None, max_examples=300)
@given(
    cuts=st.lists(st.tuples(st.integers(0, len(GOOD) - 1), st.integers(0, 255)), max_size=4),
    length=st.integers(0, len(GOOD)),
)
@example(cuts=[], length=0)
def test_a_damaged_message_is_unusual_or_a_message_and_nothing_else(cuts: list[tuple[int, int]], length: int) -> None:
    damaged = bytearray(GOOD)
    for at, octet in cuts:
        damaged[at] = octet
    try:
        _, pdu = ENVELOPE.unwrap(bytes(damaged[:length]))
    except Unusual:
        return
    for binding in pdu.bindings:
        ber.value_of(binding.tag, binding.content)
        ber.arcs(binding.name)


@given(st.binary(max_size=80))
def test_noise_is_unusual(noise: bytes) -> None:
    with pytest.raises(Unusual):
        ENVELOPE.unwrap(noise)


@pytest.mark.parametrize(
    "name",
    [b"", b"\x80", b"\x2b\x86", b"\xff" * 700],
    ids=["nothing", "no end", "no end behind an arc", "more arcs than there can be"],
)
def test_an_object_identifier_that_cannot_be_is_unusual(name: bytes) -> None:
    with pytest.raises(Unusual):
        ENVELOPE.unwrap(message(1, 1, [ber.Binding(name, ber.NULL, b"")]))
