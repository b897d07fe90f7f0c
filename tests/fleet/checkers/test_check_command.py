"""The command that checks a bundle: its words, its exit codes, what it needs."""

import pytest

from fleet.checkers import check
from tests.fleet.checkers.building import KEY, a_story, bundle_of, draft_of, hex_of, zipped


def run(capsys, *words):
    code = check.main([str(word) for word in words])
    return code, capsys.readouterr().out.splitlines()


def test_command_says_what_it_found(tmp_path, capsys):
    story = a_story()
    path, kept = tmp_path / "bundle.zip", tmp_path / "kept.txt"
    path.write_bytes(bundle_of(story))
    kept.write_text(story.checkpoints[0].text)

    code, lines = run(capsys, path, "--checkpoint", kept, "--key", hex_of(KEY), "--sample", "42")

    assert code == 0
    assert lines[-1] == "nothing failed"
    assert "Sample for 42: 4 of 9 lifted carts, by painted number" in lines


def test_command_says_what_failed(tmp_path, capsys):
    path = tmp_path / "bundle.zip"
    files = draft_of(a_story()).sealed()
    path.write_bytes(zipped({**files, "README.txt": b"another\r\n"}))

    code, lines = run(capsys, path, "--sample", "42")

    assert code == 1
    assert lines[-1] == "1 check failed: files"
    assert "No sample is drawn where a check failed." in lines
    assert "nothing failed" not in "\n".join(lines)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["absent.zip"], "absent.zip cannot be read"),
        (["text.zip"], "this is no audit bundle"),
        (["bundle.zip", "--key", "12"], "64 hex digits"),
        (["bundle.zip", "--sample", "007"], "1 to 18 digits"),
        (["bundle.zip", "--checkpoint", "text.zip"], "holds no checkpoint"),
        (["bundle.zip", "--checkpoint", "spoilt.txt"], "is spoilt"),
    ],
)
def test_command_that_cannot_begin_says_what_to_do(tmp_path, monkeypatch, capsys, words, told):
    monkeypatch.chdir(tmp_path)
    story = a_story(12)
    (tmp_path / "bundle.zip").write_bytes(bundle_of(story))
    (tmp_path / "text.zip").write_text("no bundle")
    (tmp_path / "spoilt.txt").write_text(story.sign().text.replace("epoch 1", "epoch one"))

    code, lines = run(capsys, *words)

    assert code == 2
    assert told in lines[0]
    assert "nothing failed" not in "\n".join(lines)


def test_unknown_trouble_is_neither_a_traceback_nor_consent(tmp_path, monkeypatch, capsys):
    path = tmp_path / "bundle.zip"
    path.write_bytes(bundle_of(a_story(12)))
    monkeypatch.setattr(check, "is_signed", lambda *_: 1 / 0)

    code, lines = run(capsys, path)

    assert (code, lines) == (
        2,
        ["Broken off by ZeroDivisionError: nothing is shown. Tell the site about it."],
    )
