"""The names and addresses that a certificate is made out to."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

from cryptography import x509

from fabella.errors import Problems

Address = IPv4Address | IPv6Address
Network = IPv4Network | IPv6Network

OWN_NETWORKS: tuple[Network, ...] = tuple(
    ip_network(each)
    for each in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8",
                 "fc00::/7", "fe80::/10", "::1/128")
)  # fmt: skip
"""Networks that nobody reaches from outside (RFC 1918, 3927, 4193, 4291)."""

_LABEL = r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?"
_DNS = re.compile(rf"{_LABEL}(\.{_LABEL})*")
_LONGEST = 253  # characters of a name (RFC 1035)


@dataclass(frozen=True, slots=True)
class Names:
    """Host names in small letters and addresses, each once and in a fixed order."""

    hosts: tuple[str, ...]
    addresses: tuple[Address, ...]

    def __str__(self) -> str:
        """Return all of them, to be read."""
        return ", ".join((*self.hosts, *map(str, self.addresses)))

    def general(self) -> list[x509.GeneralName]:
        """Return them as a certificate holds them."""
        return [*map(x509.DNSName, self.hosts), *map(x509.IPAddress, self.addresses)]

    def lacking(self, asked: Names) -> tuple[str, ...]:
        """Return which of the names asked for a certificate with these names does not vouch for.

        A star stands for one label (RFC 9525, 6.3).
        """
        return (
            *(each for each in asked.hosts if not {each, f"*.{each.partition('.')[2]}"} & {*self.hosts}),
            *(str(each) for each in asked.addresses if each not in self.addresses),
        )

    def outside(self, hosts: Iterable[str], networks: Iterable[Network]) -> tuple[str, ...]:
        """Return those that are neither among these hosts or below them, nor in these networks."""
        permitted, within = tuple(hosts), tuple(networks)
        return (
            *(each for each in self.hosts if not _below(each, permitted)),
            *(str(each) for each in self.addresses if not any(each in network for network in within)),
        )


def names_of(typed: Iterable[str]) -> Names:
    """Return the names and addresses under which a server is reached, as they are typed into browsers.

    Addresses of version 6 may stand in brackets; "every address" (0.0.0.0, ::) is none of them.
    Raises `InputError` with everything that can be neither.
    """
    hosts: dict[str, None] = {}
    addresses: dict[Address, None] = {}
    problems = Problems()
    for each in typed:
        plain = each.strip("[]").lower().rstrip(".")
        try:
            address = ip_address(plain)
        except ValueError:
            if host := _host(plain):
                hosts[host] = None
            else:
                says, remedy = (
                    "is no name that a certificate can hold",
                    "use letters, digits, dashes and dots",
                )
                problems.add("name", each, says, remedy)
        else:
            if not address.is_unspecified:
                addresses[address] = None
    problems.raise_any()
    return Names(tuple(sorted(hosts)), tuple(sorted(addresses, key=lambda each: (each.version, int(each)))))


def can_be_certified(host: str) -> bool:
    """Say whether a certificate can hold a name."""
    return bool(_host(host.lower()))


def certified(certificate: x509.Certificate) -> Names:
    """Return the names and addresses that a certificate is made out to."""
    try:
        found = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return Names((), ())
    return names_of(
        (*found.get_values_for_type(x509.DNSName), *map(str, found.get_values_for_type(x509.IPAddress)))
    )


def _host(typed: str) -> str:
    """Return a host name in the letters that a certificate uses, or nothing."""
    with_star = typed.removeprefix("*.")
    try:
        plain = with_star if with_star.isascii() else with_star.encode("idna").decode()
    except UnicodeError:
        return ""
    return (
        typed[: len(typed) - len(with_star)] + plain
        if len(plain) <= _LONGEST and _DNS.fullmatch(plain)
        else ""
    )


def _below(host: str, permitted: tuple[str, ...]) -> bool:
    return any(host == each or host.endswith(f".{each}") for each in permitted)
