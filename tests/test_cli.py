import json
import re
import socket
import time
from pathlib import Path

import jsonschema
import pytest
from typer.testing import CliRunner

import server
from server.advise.advice import advice_on
from server.advise.next_step import next_step
from server.advise.relief import relief_of
from server.cli import app, main
from server.domain.behaviour import Cycle
from server.domain.catalogue import KINDS
from server.domain.site import Site
from server.exchange.sitefile import read_site_file, site_schema, write_site_file
from server.paths import DEMOS
from server.rules.hazards import hazards
from server.simulate.run import simulate
from server.simulate.summary import summary
from server.store.database import open_engine
from server.store.sites import SiteStore
from tests.advise.test_relief import two_ovens
from tests.builders import (
    appliance,
    backed_up_site,
    circuit,
    double_throw_site,
    normal_only_site,
    scenario,
    with_parts,
)
from tests.processes import free_port, started


@pytest.fixture(autouse=True)
def plain_environment(monkeypatch, database_url):
    monkeypatch.setenv("THREEBUS_DATABASE", database_url)
    for name in ("THREEBUS_HOST", "THREEBUS_PORT"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def run():
    """Runs the command line; gives exit code, output and error lines."""

    def call(*arguments, given=None):
        result = CliRunner().invoke(app, [str(a) for a in arguments], input=given)
        if result.exception and not isinstance(result.exception, SystemExit):
            raise result.exception
        assert "Traceback" not in result.output
        return result

    return call


@pytest.fixture
def write(tmp_path):
    """Writes a site file and gives its path."""

    def written(site: Site) -> Path:
        path = tmp_path / "site.json"
        path.write_bytes(write_site_file(site))
        return path

    return written


def overloaded_site() -> Site:
    base = normal_only_site()
    hot = circuit("hot", "main", 9, 11, load_w=60_000, breaker_a=300)
    return normal_only_site(circuits=(*base.circuits, hot))


def test_a_run_that_fits_ends_with_0_and_its_verdict(run, write):
    site = backed_up_site()
    result = run("simulate", write(site), "--scenario", "out")
    assert result.exit_code == 0
    assert simulate(site, site.scenario("out")).verdict.sentence in " ".join(result.output.split())


def test_a_run_that_does_not_fit_ends_with_3_and_names_who_was_on(run, write):
    result = run("simulate", write(overloaded_site()))
    assert result.exit_code == 3
    words = " ".join(result.output.split())
    assert "Does not hold. Service grid, main must carry" in words
    assert re.search(r"Worst minute: Thu 26 Nov 12:00, Service grid, main, L\d at", words)
    assert re.search(r"250\.0 A hot-load", words)
    assert "A tripped breaker is a message." in words


@pytest.mark.parametrize("path", sorted(DEMOS.glob("*.json")), ids=lambda p: p.stem)
def test_every_line_fits_80_columns(run, path):
    for day in read_site_file(path.read_bytes()).scenarios:
        result = run("simulate", path, "--all", "--scenario", day.id)
        assert result.exit_code in {0, 3}
        assert max(map(len, result.output.splitlines())) <= 80


def test_the_table_gives_both_legs_the_limit_per_cent_and_minutes(run, write):
    result = run("simulate", write(overloaded_site()))
    head, row = (
        next(line for line in result.output.splitlines() if line.startswith(start)).split()
        for start in ("Limit ", "Service grid, main ")
    )
    assert head == ["Limit", "L1", "A", "L2", "A", "Limit", "A", "%", "Over,", "min"]
    assert row[-6:] == ["270.0", "265.0", "200.0", "135", "360", "over"]


def test_cautions_end_every_run(run, write):
    words = " ".join(run("simulate", write(backed_up_site()), "--scenario", "out").output.split())
    for start in ("Planning aid only.", "Simulated peaks", "Never feed a house", "Exhaust kills"):
        assert start in words


def test_hours_until_harm_are_printed(run, write):
    cycle = Cycle(on_min=20, off_min=35)
    box = KINDS["refrigerator"].appliance("box", "Cold box", behaviour=cycle)
    own = circuit("k", "main", 1, appliances=(box,))
    day = scenario(span_h=9, outage_h=(1, 8))
    out = run("simulate", write(normal_only_site(circuits=(own,), scenarios=(day,)))).output
    assert "Hours into the outage until harm:" in out
    assert "     4.0  Cold box: food unsafe, Thu 26 Nov 17:00" in out
    assert "          Circuit k dead since Thu 26 Nov 13:00." in out


def test_json_is_the_object_of_the_api(run, write):
    site = double_throw_site()
    result = run("simulate", write(site), "--scenario", "out", "--json", "--seed", 5)
    made = simulate(site, site.scenario("out"), seed=5)
    expected = summary(made, hazards=hazards(site), advice=advice_on(made))
    assert json.loads(result.stdout) == expected


def test_relief_is_tried_and_printed(run, write):
    site, day = two_ovens()
    found, step = relief_of(site, day), next_step(site, day)
    assert found is not None
    path = write(site)
    told = " ".join(run("simulate", path, "--relief").output.split())
    assert found.sentence in told
    assert f"Next: {step.sentence}" in told
    both = json.loads(run("simulate", path, "--relief", "--json").output)
    assert both["relief"]["sentence"] == found.sentence
    assert both["next_step"]["command"] == step.command


def test_without_a_scenario_the_first_is_run_and_the_others_are_named(run, write):
    result = run("simulate", write(backed_up_site()))
    assert "Scenario day, 6 h from Thu 26 Nov 12:00" in result.output
    assert "Not run: out." in result.output


def test_a_scenario_may_be_named_by_its_name(run, write):
    result = run("simulate", write(backed_up_site()), "--scenario", "Scenario out")
    assert result.exit_code == 0
    assert "Not run" not in result.output


def test_a_blocking_finding_is_printed(run, write):
    site = backed_up_site(
        circuits=(
            *backed_up_site().circuits,
            circuit("m", "backed", 9, load_w=100, multiwire_partner_id="n"),
            circuit("n", "main", 9, load_w=100, multiwire_partner_id="m"),
        )
    )
    assert "Blocking: " in run("simulate", write(site)).output


def test_standard_input_is_read(run):
    assert run("simulate", "-", given=write_site_file(backed_up_site())).exit_code == 0


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "This file is empty."),
        (b"{", "not readable JSON: line 1, column 2"),
        (b"\x80", "not UTF-8"),
        (b'{"format": "threebus-site", "version": 1, "site": {}}', "name: This is needed"),
    ],
)
def test_bad_input_ends_with_2_and_one_plain_line(run, tmp_path, content, words):
    path = tmp_path / "site.json"
    path.write_bytes(content)
    for command in ("simulate", "import"):
        result = run(command, path)
        assert result.exit_code == 2
        assert words in result.stderr
        assert result.stdout == ""


def test_a_missing_file_or_scenario_ends_with_2(run, write, tmp_path):
    missing = run("simulate", tmp_path / "none.json")
    assert missing.exit_code == 2
    assert "none.json: No such file or directory." in missing.stderr
    assert run("simulate", tmp_path).exit_code == 2
    unknown = run("simulate", write(backed_up_site()), "--scenario", "zz")
    assert unknown.exit_code == 2
    assert "It has: day, out." in unknown.stderr
    empty = run("simulate", write(normal_only_site(scenarios=())))
    assert (empty.exit_code, empty.stderr.startswith("This site has no scenario")) == (2, True)


@pytest.mark.parametrize(
    "arguments", [["--seed", "-1"], ["--seed", "x"], ["--seed", str(2**63)], ["--nope"]]
)
def test_wrong_options_end_with_2(run, write, arguments):
    assert run("simulate", write(backed_up_site()), *arguments).exit_code == 2


def test_a_site_goes_in_and_comes_out_the_same(run, write, tmp_path):
    site = double_throw_site()
    site_id = run("import", write(site)).stdout.strip()
    out = tmp_path / "out.json"
    assert run("export", site_id, out).exit_code == 0
    assert read_site_file(out.read_bytes()) == site
    assert read_site_file(run("export", site_id).stdout_bytes) == site
    unknown = run("export", "none")
    assert (unknown.exit_code, "no site 'none'" in unknown.stderr) == (2, True)


def test_an_export_leaves_every_other_file_alone(run, write, tmp_path):
    site_id = run("import", write(double_throw_site())).stdout.strip()
    precious = tmp_path / ".out.json.part"
    precious.write_text("precious")
    assert run("export", site_id, tmp_path / "out.json").exit_code == 0
    assert precious.read_text() == "precious"
    assert {p.name for p in tmp_path.glob("*out.json*")} == {"out.json", ".out.json.part"}
    for end in ("wal", "shm", "journal"):
        assert run("export", site_id, tmp_path / f"sites.db-{end}", "--force").exit_code == 2


def test_the_database_may_be_named_before_or_after_the_command(run, write, tmp_path):
    url = f"sqlite:///{tmp_path / 'other.db'}"
    site_id = run("import", write(backed_up_site()), "--database", url).stdout.strip()
    assert run("--database", url, "export", site_id).exit_code == 0
    assert run("export", site_id).exit_code == 2


def test_a_backup_opens_with_every_site(run, write, tmp_path):
    site_id = run("import", write(backed_up_site())).stdout.strip()
    copy = tmp_path / "copy.db"
    assert run("backup", copy).exit_code == 0
    engine = open_engine(f"sqlite:///{copy}")
    try:
        assert SiteStore(engine).get(site_id).site == backed_up_site()
    finally:
        engine.dispose()
    again = run("backup", copy)
    assert (again.exit_code, "there already" in again.stderr) == (2, True)


@pytest.mark.parametrize(
    "url",
    [
        "foo://x",
        "not a url",
        "mysql://x/y",
        "sqlite:///a%00b",
        "sqlite:////tmp/a.db?timeout=abc",
        "postgresql://user@host:abc/name",
        "postgresql://user@127.0.0.1:1/name",
    ],
)
def test_an_unknown_database_ends_with_2_and_one_line(run, monkeypatch, tmp_path, url):
    for named in (("--database", url), ()):
        if not named:
            monkeypatch.setenv("THREEBUS_DATABASE", url)
        for command in (("--port", free_port()), ("backup", tmp_path / "copy.db")):
            result = run(*named, *command)
            assert result.exit_code == 2
            assert len(result.stderr.splitlines()) == 1
            assert result.stdout == ""


def test_the_schema_printed_is_the_one_published(run, write):
    printed = json.loads(run("schema").stdout)
    assert printed == site_schema()
    jsonschema.validate(json.loads(write(backed_up_site()).read_bytes()), printed)


def test_the_version_is_printed(run):
    assert run("--version").stdout == f"Threebus {server.__version__}\n"


def test_a_bind_beyond_this_computer_is_refused(run):
    result = run("--host", "0.0.0.0")
    assert result.exit_code == 2
    assert "no sign-in yet" in result.stderr


def test_a_taken_port_is_said(run):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        result = run("--port", taken.getsockname()[1])
    assert result.exit_code == 2
    assert "cannot be taken" in result.stderr


def test_what_nobody_foresaw_ends_with_one_line(monkeypatch, capsys):
    def fail():
        raise ZeroDivisionError("oops")

    monkeypatch.setattr("server.cli.app", fail)
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 1
    assert capsys.readouterr().err == (
        "Something went wrong inside Threebus (ZeroDivisionError: oops).\n"
    )


def test_a_terminal_of_few_characters_is_given_what_it_can_write(write):
    site = double_throw_site()
    panel = site.panels[0].model_copy(update={"name": "Tafel \u2622 \u00d8"})
    odd = site.model_copy(update={"panels": (panel, *site.panels[1:])})
    for command, *rest in (("check",), ("simulate", "--draws", "2")):
        process = started(command, str(write(odd)), *rest, PYTHONIOENCODING="ascii")
        out, err = process.communicate(timeout=300)
        assert process.returncode in {0, 3}, err
        assert "Tafel ? ?" in out


def test_a_closed_pipe_is_no_complaint():
    process = started("schema")
    process.stdout.close()
    time.sleep(0.01)
    errors = process.stderr.read()
    process.wait(timeout=30)
    process.stderr.close()
    assert errors == ""


@pytest.mark.parametrize("command", [(), ("export", "any-site")])
def test_an_empty_database_address_is_refused_and_not_taken_as_none(run, command):
    ended = run("--database", "", *command)
    assert ended.exit_code == 2
    assert "This is not a database URL" in ended.output


def test_a_run_in_which_food_spoils_ends_with_3_and_so_do_its_draws(run, write):
    box = appliance("box", 150, kind="refrigerator", name="Box")
    base = backed_up_site()
    cold = circuit("cold", "main", 9, appliances=(box,), load_class="important")
    day = scenario("long", span_h=12, outage_h=(1, 7))
    site = with_parts(base, circuits=(*base.circuits, cold), scenarios=(day,))
    for more in ((), ("--draws", "3")):
        result = run("simulate", write(site), *more)
        assert result.exit_code == 3
        assert "Box no longer keeps food safe" in " ".join(result.output.split())
