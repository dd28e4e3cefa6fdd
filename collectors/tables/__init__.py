"""Pure functions from SNMP rows to snapshot rows, a file per family of MIB tables."""
