"""Certificates: an authority that can vouch for this server and for nothing else, and what it issues.

The profile is that of RFC 5280. An authority on a tablet is a danger if its key is stolen; so this one may
issue for no other authority, for servers only, and only for the names it was made for and for addresses
that nobody reaches from outside.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_network

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from fabella.web.tls.names import OWN_NETWORKS, Names, Network

AUTHORITY_LASTS = timedelta(days=3650)
SERVER_LASTS = timedelta(days=396)
"""Browsers refuse a server's certificate that is good for longer than 398 days; 397 is safe."""
RENEWED_BEFORE = timedelta(days=30)

_BEFORE = timedelta(days=1)  # a tablet's clock may be behind
_SERVERS = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
_NO_USE = dict.fromkeys(
    ("digital_signature", "content_commitment", "key_encipherment", "data_encipherment", "key_agreement",
     "key_cert_sign", "crl_sign", "encipher_only", "decipher_only"),
    False,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Pair:
    """A certificate and its private key."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey


def make_authority(names: Names, *, machine: str, now: datetime) -> Pair:
    """Make an authority that can vouch for these names, what is below them, and private addresses."""
    key = ec.generate_private_key(ec.SECP256R1())
    title = _title(f"Fabella at {machine}, authority of {now:%Y-%m-%d}")
    public = key.public_key()
    hosts = dict.fromkeys(("localhost", *names.hosts))
    own = (ip_network(each) for each in names.addresses if not _is_within(each, OWN_NETWORKS))
    permitted = [*map(x509.DNSName, hosts), *map(x509.IPAddress, (*OWN_NETWORKS, *own))]
    certificate = (
        _begun(title, title, public, now, now + AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(x509.KeyUsage(**{**_NO_USE, "key_cert_sign": True, "crl_sign": True}), critical=True)
        .add_extension(_SERVERS, critical=False)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .sign(key, hashes.SHA256())
    )
    return Pair(certificate, key)


def issue(authority: Pair, names: Names, *, now: datetime) -> Pair:
    """Make a server's certificate, with a key of its own."""
    key = ec.generate_private_key(ec.SECP256R1())
    ends = min(now - _BEFORE + SERVER_LASTS, authority.certificate.not_valid_after_utc)
    shown = (*names.hosts, *map(str, names.addresses))[0]
    certificate = (
        _begun(_title(f"Fabella at {shown}"), authority.certificate.subject, key.public_key(), now, ends)
        .add_extension(x509.SubjectAlternativeName(names.general()), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.KeyUsage(**{**_NO_USE, "digital_signature": True}), critical=True)
        .add_extension(_SERVERS, critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key()), critical=False
        )
        .sign(authority.key, hashes.SHA256())
    )
    return Pair(certificate, key)


def constraints(certificate: x509.Certificate) -> tuple[tuple[str, ...], tuple[Network, ...]]:
    """Return the hosts and the networks for which an authority can vouch."""
    found = certificate.extensions.get_extension_for_class(x509.NameConstraints).value
    permitted = found.permitted_subtrees or []
    return (
        tuple(str(each.value) for each in permitted if isinstance(each, x509.DNSName)),
        tuple(ip_network(str(each.value)) for each in permitted if isinstance(each, x509.IPAddress)),
    )


def fingerprint(certificate: x509.Certificate) -> str:
    """Return the SHA-256 of a certificate in pairs of digits, as systems show it."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def _begun(
    subject: x509.Name, issuer: x509.Name, public: ec.EllipticCurvePublicKey, now: datetime, ends: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _BEFORE)
        .not_valid_after(ends)
    )


def _title(text: str) -> x509.Name:
    """A name to be read by people; the space in it keeps it from being taken for one of a host."""
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text[:64])])


def _is_within(address: object, networks: tuple[Network, ...]) -> bool:
    return any(address in network for network in networks)
