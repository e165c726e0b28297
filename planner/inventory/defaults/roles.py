"""What a service's role means by trade habit, unless the file says otherwise."""

from __future__ import annotations

from collections.abc import Mapping

DIRECTORY = "directory"

PHYSICAL_BY_ROLE: Mapping[str, str] = {
    "backup": "backup must outlive the loss of any host",
    "firewall": "the firewall is the trust boundary and must be up before the hosts",
    "monitoring": "monitoring must be able to report that a host is down",
    "time": "clocks drift in virtual machines",
    "storage": "storage for hosts or backups must not run on what depends on it",
    "telephony": "line hardware and its timing",
}
"""Roles whose services stay physical, and why. Trade habit; the file can say ``stay_physical: no``."""

PLAIN_ROLES = (
    "application",
    "build",
    "database",
    "dhcp",
    "dns",
    "file",
    "licence",
    "mail",
    "media",
    "print",
    "remote-access",
    "test",
    "web",
)
ROLES = tuple(sorted((DIRECTORY, *PHYSICAL_BY_ROLE, *PLAIN_ROLES)))

DIRECTORY_APART = "directory servers must not fail together"
DIRECTORY_QUORUM = "one directory server must start without any host (trade habit, disputed)"
