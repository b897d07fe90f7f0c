"""The key of backups: made once, read by its owner alone."""

import base64

import pytest

from deploy.keeping import key
from deploy.keeping.refused import Refused


def test_a_key_is_made_for_its_owner_alone(tmp_path):
    path = tmp_path / "key"

    key.make(path)

    assert (path.stat().st_mode & 0o777, len(key.read(path))) == (0o600, 32)
    assert base64.b64encode(key.read(path)) + b"\n" == path.read_bytes()


def test_a_key_that_is_there_stays(tmp_path):
    key.make(tmp_path / "key")
    before = (tmp_path / "key").read_bytes()

    with pytest.raises(Refused, match="is there already"):
        key.make(tmp_path / "key")

    assert (tmp_path / "key").read_bytes() == before


def test_a_key_that_others_may_read_is_refused(tmp_path):
    key.make(tmp_path / "key")
    (tmp_path / "key").chmod(0o640)

    with pytest.raises(Refused, match="run chmod 600"):
        key.read(tmp_path / "key")


@pytest.mark.parametrize("mode", [0o600, 0o644])
@pytest.mark.parametrize("text", [b"", b"no base64!", base64.b64encode(bytes(31)), b"\xff" * 44])
def test_what_is_no_key_is_refused_and_not_to_be_closed(tmp_path, text, mode):
    (tmp_path / "key").write_bytes(text)
    (tmp_path / "key").chmod(mode)

    with pytest.raises(Refused, match="holds no key: choose another path") as told:
        key.read(tmp_path / "key")

    assert "chmod" not in str(told.value)


def test_a_key_that_is_not_there_is_named(tmp_path):
    with pytest.raises(Refused, match=r"Cannot read the key .*: No such file"):
        key.read(tmp_path / "none")
