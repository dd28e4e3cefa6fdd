"""pysnmp's own reading of a message, for what the lean reader finds unusual. Imported on first need only."""

from __future__ import annotations

from pyasn1.codec.ber import decoder, encoder
from pyasn1.error import PyAsn1Error
from pysnmp.error import PySnmpError
from pysnmp.proto import rfc1157, rfc1905

from collectors.transports.snmp_ber import REPORT, RESPONSE, Pdu, Unusual, read_pdu

_SPECS = {
    ("1", RESPONSE): rfc1157.GetResponsePDU,
    ("2c", RESPONSE): rfc1905.ResponsePDU,
    ("2c", REPORT): rfc1905.ReportPDU,
}


def read_unusual_pdu(data: bytes, version: str) -> Pdu:
    """A PDU that pysnmp can read, though we could not: read by pysnmp, written anew, read again.

    `version` is "1", or "2c" for all later PDUs. Raises Unusual when pysnmp cannot read it either.
    """
    spec = _SPECS.get((version, data[0] if data else 0))
    if spec is None:
        raise Unusual("neither a response nor a report")
    try:
        pdu, _ = decoder.decode(data, asn1Spec=spec())
        return read_pdu(encoder.encode(pdu), 0)
    except (PyAsn1Error, PySnmpError, ValueError, IndexError, TypeError) as error:
        raise Unusual(f"pysnmp cannot read it either: {type(error).__name__}") from None
