"""Mail over TLS, begun by STARTTLS (RFC 3207) or from the start (RFC 8314), by our own authority.

A server that nobody vouches for, or that has another's name, gets no mail; what waits goes later.
"""

import asyncio
import ssl
import threading
from datetime import UTC, date, datetime, timedelta
from urllib.parse import urlsplit

import pytest
from aiosmtpd.smtp import SMTP
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from deploy.mails import mail
from fleet import post as the_post
from fleet.actions.reminders import sweep
from fleet.models import Digest
from shared.models import LastDone
from tests.factories import (
    CartFactory,
    MembershipFactory,
    PersonFactory,
    RecheckFactory,
    SiteFactory,
)

pytestmark = pytest.mark.django_db

MORNING = datetime(2026, 3, 5, 11, 0, tzinfo=UTC)
LATER = MORNING + timedelta(minutes=1)
ANN = "ann@example.org"
NOT_BEFORE = datetime(2020, 1, 1, tzinfo=UTC)
NOT_AFTER = datetime(2120, 1, 1, tzinfo=UTC)


class Authority:
    """Vouches for the names it is asked to."""

    def __init__(self, folder, name):
        self.folder, self.key = folder, ec.generate_private_key(ec.SECP256R1())
        self.name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
        basic = x509.BasicConstraints(ca=True, path_length=None)
        own = self._said_of(self.name, self.key.public_key()).add_extension(basic, critical=True)
        self.file = folder / f"{name}.pem"
        self.file.write_bytes(_pem(own.sign(self.key, hashes.SHA256())))

    def context_for(self, host):
        key = ec.generate_private_key(ec.SECP256R1())
        name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, host)])
        names = x509.SubjectAlternativeName([x509.DNSName(host)])
        said = self._said_of(name, key.public_key()).add_extension(names, critical=False)
        pem, plain = serialization.Encoding.PEM, serialization.NoEncryption()
        whole = key.private_bytes(pem, serialization.PrivateFormat.PKCS8, plain)
        file = self.folder / f"{host}.pem"
        file.write_bytes(whole + _pem(said.sign(self.key, hashes.SHA256())))
        context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        context.load_cert_chain(file)
        return context

    def _said_of(self, name, key):
        said = x509.CertificateBuilder(self.name, name, key, x509.random_serial_number())
        return said.not_valid_before(NOT_BEFORE).not_valid_after(NOT_AFTER)


def _pem(certificate):
    return certificate.public_bytes(serialization.Encoding.PEM)


class Taking:
    """Notes whom a mail was for, and whether it came by TLS."""

    def __init__(self):
        self.taken = []

    async def handle_DATA(self, server, session, envelope):
        is_tls = server.transport.get_extra_info("ssl_object") is not None
        self.taken += [(address, is_tls) for address in envelope.rcpt_tos]
        return "250 taken"


@pytest.fixture
def authority(tmp_path, monkeypatch):
    """The one authority that this process believes, as OpenSSL reads it from the system."""
    found = Authority(tmp_path, "believed")
    monkeypatch.setenv("SSL_CERT_FILE", str(found.file))
    monkeypatch.setenv("SSL_CERT_DIR", str(tmp_path / "none"))
    return found


@pytest.fixture
def put_up(settings, tmp_path):
    """Return what puts up a server with a certificate and has mails go to it."""
    loop, servers = asyncio.new_event_loop(), []
    thread = threading.Thread(target=loop.run_forever, daemon=True)
    thread.start()

    def start(scheme, context):
        handler, at_once = Taking(), context if scheme == "smtps" else None
        tls = {"tls_context": context, "require_starttls": True} if scheme == "smtp+tls" else {}

        def talk():
            return SMTP(handler, loop=loop, hostname="sink", **tls)

        listening = loop.create_server(talk, "127.0.0.1", 0, ssl=at_once)
        server = asyncio.run_coroutine_threadsafe(listening, loop).result()
        servers.append(server)
        port = server.sockets[0].getsockname()[1]
        for name, value in mail(urlsplit(f"{scheme}://localhost:{port}"), tmp_path).items():
            setattr(settings, name, value)
        return handler.taken

    yield start
    asyncio.run_coroutine_threadsafe(ended(servers), loop).result()
    loop.call_soon_threadsafe(loop.stop)
    thread.join()
    loop.close()


async def ended(servers):
    """Close the servers, and wait for the conversations that are going on."""
    for server in servers:
        server.close()
    talks = asyncio.all_tasks() - {asyncio.current_task()}
    for talk in talks:
        talk.cancel()
    await asyncio.gather(*talks, return_exceptions=True)


@pytest.fixture(autouse=True)
def ann():
    the_post.broken_at_s.clear()
    site = SiteFactory()
    MembershipFactory(site=site, person=PersonFactory(home_site=site, email=ANN))
    RecheckFactory(cart=CartFactory(site=site), opens_on=date(2026, 3, 1), due_on=date(2026, 3, 4))
    yield
    the_post.broken_at_s.clear()


def fault():
    return LastDone.objects.get(what=LastDone.What.MAIL_NOT_REACHED).said["fault"]


@pytest.mark.parametrize("scheme", ["smtp+tls", "smtps"])
def test_a_server_that_is_vouched_for_is_given_its_mail_by_tls(authority, put_up, scheme):
    taken = put_up(scheme, authority.context_for("localhost"))

    assert sweep(MORNING).digests == {"sent": 1}
    assert taken == [(ANN, True)]


@pytest.mark.parametrize("scheme", ["smtp+tls", "smtps"])
def test_a_certificate_of_another_name_gets_no_mail_and_the_notice_goes_later(
    authority, put_up, scheme
):
    taken = put_up(scheme, authority.context_for("mail.elsewhere.example"))

    assert sweep(MORNING).digests == {}
    assert (taken, Digest.objects.get().sent_at) == ([], None)
    assert fault() == (
        "the mail server's certificate is not accepted: "
        "Hostname mismatch, certificate is not valid for 'localhost'."
    )

    taken = put_up(scheme, authority.context_for("localhost"))
    assert sweep(LATER).digests == {"sent": 1}
    assert taken == [(ANN, True)]


@pytest.mark.parametrize("scheme", ["smtp+tls", "smtps"])
def test_an_authority_that_nobody_knows_vouches_for_nothing(authority, put_up, scheme, tmp_path):
    (tmp_path / "strange").mkdir()
    stranger = Authority(tmp_path / "strange", "stranger")
    taken = put_up(scheme, stranger.context_for("localhost"))

    assert sweep(MORNING).digests == {}
    assert (taken, Digest.objects.get().sent_at) == ([], None)
    assert fault() == (
        "the mail server's certificate is not accepted: unable to get local issuer certificate"
    )

    taken = put_up(scheme, authority.context_for("localhost"))
    assert sweep(LATER).digests == {"sent": 1}
    assert taken == [(ANN, True)]


def test_a_server_without_tls_is_sent_nothing_in_clear(put_up, settings):
    taken = put_up("smtp", None)
    settings.EMAIL_USE_TLS = True

    assert sweep(MORNING).digests == {}
    assert taken == []
    assert fault() == "SMTPNotSupportedError: STARTTLS extension not supported by server."
