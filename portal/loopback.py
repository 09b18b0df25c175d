"""Which names and addresses are this machine itself; for the demo, which runs nowhere else."""

import ipaddress


def is_loopback(host: str) -> bool:
    """Whether a host name, or an address with or without brackets, never leaves the machine."""
    name = host.strip().strip("[]").lower()
    if name == "localhost" or name.endswith(".localhost"):
        return True
    try:
        return ipaddress.ip_address(name).is_loopback
    except ValueError:
        return False
