"""The documents are true: every command they name exists, their example pack passes, their pictures are there."""

import re
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from troubleshoot.cli import COMMANDS, group

ROOT = Path(__file__).resolve().parents[1]
DOCUMENTS = ("README.md", "DEVELOPERS.md")


def commands_named(text: str) -> set[tuple[str, ...]]:
    """Every `troubleshoot X` and `troubleshoot X Y` that a document names."""
    found = re.findall(r"troubleshoot((?: [a-z][a-z-]*){1,2})", text)
    return {tuple(words.split()) for words in found}


def known(words: tuple[str, ...]) -> bool:
    """Whether words are a command, a command with an argument, or a command of a group."""
    context = click.Context(group)
    if words[0] not in COMMANDS:
        return False
    command = group.get_command(context, words[0])
    if isinstance(command, click.Group) and len(words) > 1:
        return command.get_command(context, words[1]) is not None
    return True


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_command_that_a_document_names_exists(name: str) -> None:
    """A document that names a command that is gone fails the build."""
    text = (ROOT / name).read_text(encoding="utf-8")
    prose = {w for w in commands_named(text) if not known(w)}
    named = re.findall(r"`troubleshoot ([^`]+)`", text) + re.findall(
        r"^ {4}(?:\.venv/bin/)?troubleshoot (.+)$", text, re.M
    )
    calls = {tuple(re.sub(r"[A-Z].*|--.*", "", call).replace(",", " ").split()[:2]) for call in named}

    assert {c for c in calls if c and not known(c)} == set(), prose


def test_every_command_stands_in_the_readme() -> None:
    """A new command is not forgotten in the README."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")

    assert [c for c in COMMANDS if not re.search(rf"`[^`]*\b{c}\b[^`]*`", text)] == []


def test_every_command_has_help() -> None:
    """Each command and each command of a group says what it does."""
    context = click.Context(group)
    silent = []
    for name in COMMANDS:
        command = group.get_command(context, name)
        assert command is not None
        inner = list(command.commands.values()) if isinstance(command, click.Group) else []
        silent += [c.name for c in (command, *inner) if not c.help]

    assert silent == []


def test_every_link_and_picture_of_a_document_is_there() -> None:
    """No document points to a file that is not in the project."""
    missing = []
    for name in DOCUMENTS:
        text = (ROOT / name).read_text(encoding="utf-8")
        missing += [target for target in re.findall(r"\]\(([^)#]+)\)", text) if not (ROOT / target).exists()]

    assert missing == []


def test_the_example_pack_of_the_readme_passes(tmp_path: Path) -> None:
    """What the README teaches about writing a rule is accepted by the checker, examples included."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    files = re.findall(r"^`my-club/([a-z/]+\.yaml)`\n\n((?: {4}.*\n|\n)+)", text, re.M)
    for name, block in files:
        path = tmp_path / "my-club" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(re.sub(r"^ {4}", "", block, flags=re.M), encoding="utf-8")

    result = CliRunner().invoke(group, ["rules", "check", str(tmp_path / "my-club")], standalone_mode=False)

    assert len(files) == 4
    assert result.return_value == 0, result.output


def test_every_word_in_the_readme_table_of_letters_is_a_command_of_the_dialogue() -> None:
    """The letters that the README explains are the letters that the dialogue takes."""
    from troubleshoot.dialogue import COMMANDS as LETTERS

    text = (ROOT / "README.md").read_text(encoding="utf-8")
    paragraph = text[text.index("At every question:") : text.index("*Not sure* is always")]

    assert set(re.findall(r"`(.)`", paragraph)) == {option.key for option in LETTERS}
