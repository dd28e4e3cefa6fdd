"""How to reach a switch: SNMP over UDP, SSH, and recordings. Foreign errors become ours here and nowhere else."""
