"""What holds for the project as a whole: the README's word, the layout, the templates."""

from __future__ import annotations

import re
import subprocess
import tomllib
from functools import cache
from pathlib import Path

import pytest
from typer.testing import CliRunner

import server
from server.cli import app
from server.domain.cautions import CAUTIONS
from server.paths import TEMPLATES
from server.settings import DEFAULT_PORT
from server.web.pages import environment

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "server",
    "templates",
    "static",
    "tests",
    "migrations",
}
DEADLY = ("planning-aid", "backfeed", "exhaust", "co-alarms", "bond", "medical")
LINES_MOST = 400
HOSTS = {"127.0.0.1", "localhost", "elsewhere", "testserver", "www.w3.org", "json-schema.org"}


@cache
def files() -> tuple[Path, ...]:
    """Every file of the project: what git tracks or would, else what lies in its folders."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    if listed.returncode == 0:
        names = [ROOT / name for name in listed.stdout.splitlines()]
    else:
        names = [path for top in TOP_LEVEL for path in [ROOT / top, *(ROOT / top).rglob("*")]]
    return tuple(
        path for path in sorted(set(names)) if path.is_file() and "__pycache__" not in path.parts
    )


@cache
def own_texts(*suffixes: str) -> dict[str, str]:
    """Our own files with these suffixes, by their path in the project."""
    return {
        str(path.relative_to(ROOT)): path.read_text(encoding="utf-8")
        for path in files()
        if path.suffix in suffixes and "vendor" not in path.parts
    }


def readme_section(title: str) -> str:
    return README.partition(f"\n## {title}\n")[2].partition("\n## ")[0]


# --- What the README and DEVELOPERS.md say -----------------------------------------------------


def test_readme_has_exactly_two_commands_one_to_start_and_one_to_test():
    start, test = re.findall(r"^```sh\n(.*?)\n```$", README, re.DOTALL | re.MULTILINE)
    venv = "python3 -m venv .venv"
    assert start.split(" && ") == [venv, ".venv/bin/pip install .", ".venv/bin/threebus"]
    assert test.split(" && ") == [venv, '.venv/bin/pip install -e ".[test]"', ".venv/bin/pytest"]


def test_names_in_the_commands_exist():
    assert PROJECT["name"] == "threebus"
    assert PROJECT["scripts"] == {"threebus": "server.cli:main"}
    for extra in re.findall(r'pip install (?:-e )?"\.\[(\w+)\]"', README + DEVELOPERS):
        assert extra in PROJECT["optional-dependencies"]


def test_readme_names_the_python_that_is_required():
    least = PROJECT["requires-python"].removeprefix(">=")
    claims = re.findall(r"Python (\d+\.\d+)", README)
    assert claims
    assert set(claims) == {least}


def test_readme_names_the_port_and_every_terminal_command():
    assert f"http://127.0.0.1:{DEFAULT_PORT}>" in README
    told = set(re.findall(r"^\| `threebus ([a-z]+)", README, re.MULTILINE))
    assert told == {
        command.name or command.callback.__name__ for command in app.registered_commands
    }


def test_options_in_the_readme_are_options_of_the_terminal():
    runner = CliRunner()
    commands: list[list[str]] = [[], ["simulate"], ["check"]]
    helps = "".join(runner.invoke(app, [*command, "--help"]).output for command in commands)
    for option in re.findall(r"`(--[a-z-]+)", readme_section("In the terminal")):
        assert option in helps


def test_cautions_in_the_readme_are_the_cautions_of_the_pages():
    told = readme_section("Cautions").strip().partition("\n\n")[0]
    bullets = [" ".join(line.replace("**", "").split()) for line in f"\n{told}".split("\n- ")[1:]]
    assert set(bullets) <= {str(caution) for caution in CAUTIONS.values()}
    for key in DEADLY:
        assert str(CAUTIONS[key]) in bullets


def test_newest_entry_of_the_change_log_is_this_version():
    assert re.findall(r"^### (\S+)$", DEVELOPERS, re.MULTILINE)[0] == server.__version__


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["readme", "developers"])
def test_files_it_names_exist(text: str):
    prefixes = r"(?:server|tests|templates|static|migrations|\.ci)/"
    named = set(re.findall(rf"[`(]({prefixes}[\w./-]*)", text))
    assert named
    assert [name for name in named if not (ROOT / name).exists()] == []


# --- The layout --------------------------------------------------------------------------------


def test_top_level_holds_exactly_what_it_may():
    tops = {path.relative_to(ROOT).parts[0] for path in files()}
    assert {top for top in tops if not top.startswith(".")} == TOP_LEVEL


def test_no_file_hides_two_ideas():
    long = {
        name: lines
        for name, text in own_texts(".py", ".html", ".js").items()
        if (lines := text.count("\n")) > LINES_MOST
    }
    assert long == {}


def test_no_path_of_one_machine_and_no_foreign_address():
    machine = re.compile(r"(?<![\w.}/-])/(?:home|root|work|opt|mnt|srv|tmp|Users)/\w")
    address = re.compile(r"\b(?:https?|ftp)://([\w.-]+)")
    found = []
    for name, text in own_texts(".py", ".md", ".toml", ".html", ".js", ".css", ".json", "").items():
        found += [f"{name}: {hit.group()}" for hit in machine.finditer(text)]
        found += [
            f"{name}: {hit.group()}"
            for hit in address.finditer(text)
            if hit.group(1) not in HOSTS and not hit.group(1).endswith((".example", ".invalid"))
        ]
    assert found == []


def test_nothing_of_the_pages_is_fetched_from_elsewhere():
    for name, text in own_texts(".html", ".css", ".js").items():
        assert not re.search(r"""(?:src|href|url\()\s*=?\s*["']?(?:https?:)?//""", text), name


# --- Templates ---------------------------------------------------------------------------------


def template_names() -> list[str]:
    return sorted(str(path.relative_to(TEMPLATES)) for path in TEMPLATES.rglob("*.html"))


@pytest.mark.parametrize("name", template_names())
def test_template_compiles_and_is_asked_for(name: str):
    environment().get_template(name)
    users = own_texts(".py", ".html")
    assert [user for user, text in users.items() if f'"{name}"' in text], f"nothing renders {name}"


def test_no_inline_script_style_or_handler():
    refused = re.compile(
        r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son[a-z]+=[\"']|\bhx-on\b|javascript:",
        re.IGNORECASE,
    )
    texts = own_texts(".html", ".js") | {
        name: text for name, text in own_texts(".py").items() if name.startswith("server/web/")
    }
    assert {n: refused.findall(t) for n, t in texts.items() if refused.search(t)} == {}


@cache
def htmx() -> str:
    (path,) = (ROOT / "static" / "vendor").glob("htmx-4.*.min.js")
    return path.read_text(encoding="utf-8")


def test_every_htmx_attribute_is_one_of_this_htmx():
    known = set(re.findall(r"hx-[a-z-]*[a-z]", htmx()))
    assert {"hx-get", "hx-target", "hx-swap"} <= known
    assert "hx-disabled-elt" not in known
    used = {
        (name, attribute)
        for name, text in own_texts(".html", ".js").items()
        for attribute in re.findall(r"\bhx-[a-z-]*[a-z]", text)
    }
    assert {(name, attribute) for name, attribute in used if attribute not in known} == set()


def test_every_htmx_event_is_one_of_this_htmx():
    known = set(re.findall(r"htmx:[a-zA-Z:]*[a-zA-Z]", htmx()))
    assert "htmx:after:swap" in known
    assert "htmx:afterSwap" not in known
    for name, text in own_texts(".html", ".js").items():
        assert set(re.findall(r"htmx:[a-zA-Z:]*[a-zA-Z]", text)) <= known, name
