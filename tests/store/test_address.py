"""Addresses of servers: what is taken, what is refused, what is shown of them.

Outside source: RFC 3986, section 3 (the parts of an address), and RFC 7617 (the header of user and password), from memory.
"""

from __future__ import annotations

import base64

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kg.errors import BoxlockError, InputError
from kg.store.address import GRAPHS_PATH, hide_credentials, read_address


@pytest.mark.parametrize(
    ("url", "host", "port", "target", "shown"),
    [
        ("http://h", "h", 80, "/query", "http://h/query"),
        ("http://h/", "h", 80, "/query", "http://h/query"),
        ("https://h", "h", 443, "/query", "https://h/query"),
        ("http://h:7878/ds/sparql", "h", 7878, "/ds/sparql", "http://h:7878/ds/sparql"),
        ("http://h:80/x", "h", 80, "/x", "http://h/x"),
        ("https://h:80/x", "h", 80, "/x", "https://h:80/x"),
        ("http://[::1]:99/x", "::1", 99, "/x", "http://[::1]:99/x"),
        ("http://H.Example/x?key=k&a=b", "h.example", 80, "/x?key=k&a=b", "http://h.example/x"),
        ("http://bücher.example/ä b".replace(" ", "%20"), "xn--bcher-kva.example", 80, "/%C3%A4%20b", None),
        ("http://u:p@h/x", "h", 80, "/x", "http://h/x"),
    ],
)
def test_parts(url: str, host: str, port: int, target: str, shown: str | None) -> None:
    address = read_address(url, environment={})
    assert (address.host, address.port, address.target) == (host, port, target)
    assert shown is None or address.shown == shown


def test_another_path_for_the_graph_store() -> None:
    assert read_address("http://h", GRAPHS_PATH, {}).target == "/store"
    assert read_address("http://h/ds/data", GRAPHS_PATH, {}).target == "/ds/data"


def test_credentials_in_an_address_are_decoded() -> None:
    header = read_address("http://a%40b:p%2Fw%3A@h/", environment={}).authorization
    assert base64.b64decode(header.removeprefix("Basic ")) == b"a@b:p/w:"


@pytest.mark.parametrize(
    ("environment", "said"),
    [
        ({"BOXLOCK_STORE_PASSWORD": "x"}, "BOXLOCK_STORE_PASSWORD is set, but not BOXLOCK_STORE_USER"),
        ({"BOXLOCK_STORE_TOKEN": "a b"}, "BOXLOCK_STORE_TOKEN holds blanks"),
        ({"BOXLOCK_STORE_TOKEN": "a\r\nX: y"}, "BOXLOCK_STORE_TOKEN holds blanks"),
        ({"BOXLOCK_STORE_USER": "a:b", "BOXLOCK_STORE_PASSWORD": "x"}, "cannot be sent"),
        ({"BOXLOCK_STORE_USER": "a\r\nX: y"}, "cannot be sent"),
    ],
)
def test_error_credentials_that_cannot_be_sent(environment: dict[str, str], said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        read_address("http://h/", environment=environment)
    assert caught.value.code == "BL-I01"


def test_credentials_over_a_network_without_encryption_are_noticed() -> None:
    assert read_address("http://u:p@far.example/", environment={}).exposed
    for url in ("https://u:p@far.example/", "http://u:p@127.0.0.1/", "http://far.example/"):
        assert not read_address(url, environment={}).exposed


@given(st.text(max_size=60))
def test_any_text_is_an_address_or_refused_without_being_repeated(text: str) -> None:
    for url in (text, f"http://{text}", f"http://ada:hush-9f2c@{text}", f"https://h/{text}"):
        try:
            address = read_address(url, environment={})
        except BoxlockError as error:
            assert error.code == "BL-I01" and "hush" not in str(error)
        else:
            assert address.target.isascii() and address.target.startswith("/") and " " not in address.target
            assert address.host.isascii() and address.host
            assert "hush" not in address.shown


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("ask http://u:p@h/x and https://v@k", "ask http://…@h/x and https://…@k"),
        ("http://h/a@b", "http://h/a@b"),
        ("HTTP://u:p@w@h/", "HTTP://…@h/"),
        ("nothing", "nothing"),
    ],
)
def test_credentials_are_taken_out_of_a_text(text: str, shown: str) -> None:
    assert hide_credentials(text) == shown
