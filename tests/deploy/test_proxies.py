"""Who asks is the last stranger on the way; only a believed proxy may say so."""

import ipaddress
from urllib.parse import urlsplit

import pytest
from django.urls import reverse

from deploy.proxies import asking
from shared.models import SignInTry
from tests.factories import PersonFactory

BELIEVED = [ipaddress.ip_network(one) for one in ("10.0.0.0/8", "::1")]


@pytest.fixture(autouse=True)
def proxies(settings):
    settings.PROXIES = BELIEVED
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    return settings


@pytest.mark.parametrize(
    ("said", "who"),
    [
        ("", "10.0.0.1"),
        ("203.0.113.9", "203.0.113.9"),
        ("198.51.100.7, 203.0.113.9", "203.0.113.9"),
        ("198.51.100.7, 203.0.113.9, 10.0.0.2", "203.0.113.9"),
        ("10.0.0.3, 10.0.0.2", "10.0.0.3"),
        ("198.51.100.7, nobody, 10.0.0.2", "10.0.0.2"),
        ("2001:db8::7, ::1", "2001:db8::7"),
        ("10.0.0.2:8000", "10.0.0.1"),
    ],
)
def test_asking_is_the_right_most_stranger(said, who):
    assert asking("10.0.0.1", said) == who


@pytest.fixture
def mia(db):
    """Without anybody the sign-in page asks for the first site."""
    return PersonFactory()


def tried_from(client, **meta):
    client.post(reverse("sign-in"), {"username": "a@b.example", "password": "x"}, **meta)
    return list(SignInTry.objects.values_list("address", flat=True))


@pytest.mark.parametrize(
    ("proxy", "counted"), [("10.0.0.1", "203.0.113.9"), ("192.0.2.1", "192.0.2.1")]
)
def test_sign_ins_are_counted_by_who_really_asks(client, mia, proxy, counted):
    assert tried_from(client, REMOTE_ADDR=proxy, HTTP_X_FORWARDED_FOR="203.0.113.9") == [counted]


def test_by_the_servers_socket_only_where_that_is_named(client, mia, proxies):
    proxies.PROXIES = ["socket"]

    assert tried_from(client, REMOTE_ADDR="", HTTP_X_FORWARDED_FOR="203.0.113.9") == ["203.0.113.9"]


@pytest.mark.parametrize(("proxy", "scheme"), [("10.0.0.1", "http"), ("192.0.2.1", "https")])
def test_only_a_believed_proxy_says_that_it_came_by_https(client, mia, proxies, proxy, scheme):
    proxies.SECURE_SSL_REDIRECT = True

    answer = client.get("/sign-in/", REMOTE_ADDR=proxy, HTTP_X_FORWARDED_PROTO="https")

    assert (answer.status_code == 200) == (scheme == "http")
    assert urlsplit(answer.get("Location", "http:")).scheme == scheme
