import copy
import json
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.domain.cautions import PLANNING_AID
from server.domain.errors import SiteFileError
from server.domain.site import Site
from server.exchange import strictjson
from server.exchange.sitefile import MAX_PROBLEMS, read_site_file, site_schema, write_site_file
from server.exchange.strictjson import MAX_BYTES, MAX_DEPTH
from server.paths import DEMOS
from tests.builders import EVERY_SITE, backed_up_site, normal_only_site, with_parts

SITE_OF = b'{"format": "threebus-site", "version": 1, "site": {%s}}'
EVERY_NAME = sorted(EVERY_SITE)


def document(site: Site | None = None) -> dict:
    return json.loads(write_site_file(site or backed_up_site()))


def encoded(content: object) -> bytes:
    return json.dumps(content).encode()


def refusal(data: bytes) -> SiteFileError:
    with pytest.raises(SiteFileError) as caught:
        read_site_file(data)
    return caught.value


@pytest.mark.parametrize("name", EVERY_NAME)
def test_a_site_comes_back_as_it_went(name):
    site = EVERY_SITE[name]()
    assert read_site_file(write_site_file(site)) == site


@pytest.mark.parametrize("name", EVERY_NAME)
def test_a_written_file_follows_the_published_schema(name):
    jsonschema.validate(
        document(EVERY_SITE[name]()), site_schema(), cls=jsonschema.Draft202012Validator
    )


def test_the_published_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(site_schema())


def test_every_demo_follows_the_published_schema_and_is_read():
    validator = jsonschema.Draft202012Validator(site_schema())
    for path in Path(DEMOS).glob("*.json"):
        validator.validate(json.loads(path.read_bytes()))
        assert read_site_file(path.read_bytes()).circuits


def test_a_byte_order_mark_is_tolerated():
    site = backed_up_site()
    assert read_site_file(b"\xef\xbb\xbf" + write_site_file(site)) == site


def test_letters_outside_ascii_stay_as_they_are():
    site = with_parts(backed_up_site(), name="Maison du Père Noël ½")
    data = write_site_file(site)
    assert "Père Noël ½".encode() in data
    assert read_site_file(data) == site


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b" \n ", "empty"),
        (b"[1, 2", "not readable JSON: line 1"),
        (b"\xff\xfe{\x00}\x00", "UTF-16"),
        (b'{\n"name": "caf\xe9"}', "Line 2 holds bytes that are not UTF-8"),
        (b"[" * 200_000, "deeper than 32"),
        (b'{"a":' * 200_000, "deeper than 32"),
        (b'"' + b'\\"' * 1_000_000, "not readable JSON"),
        (b'{"a": NaN}', "NaN is not a number"),
        (b'{"a": -Infinity}', "-Infinity is not a number"),
        (b'{"a": ' + b"1" * 5000 + b"}", "too long"),
        (b'{"a": 1, "a": 2}', "“a” stands twice"),
        ('{"größe": 1}'.encode(), "“größe” is not known"),
        (b" " * (MAX_BYTES + 1), "larger than 5 MB"),
        (b"[" + b"0," * 300_000 + b"0]", "more than 250,000 values"),
        (SITE_OF % (b'"circuits": [' + b"{}," * 30_000 + b"{}]"), "Is it a site at all?"),
        (b"[]", "A site file is one group"),
        (b"null", "A site file is one group"),
        (b'{"panels": []}', "Put it inside"),
        (b'{"format": "other"}', "not a Threebus site file"),
    ],
)
def test_what_is_not_a_site_file_is_refused_with_the_reason(data, words):
    assert words in str(refusal(data))


def test_a_file_bears_the_caution_and_opens_without_it():
    site = backed_up_site()
    opened = json.loads(write_site_file(site))
    assert opened.pop("caution") == str(PLANNING_AID)
    assert read_site_file(encoded(opened)) == site


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"version": 2}, "version", "newer Threebus"),
        ({"version": 0}, "version", "no version 0"),
        ({"version": "1"}, "version", "whole number"),
        ({"version": True}, "version", "whole number"),
        ({"version": -1}, "version", "whole number"),
        ({"site": []}, "site", "group of named fields"),
        ({"extra": 1}, "extra", "not known"),
        ({"caution": 1}, "caution", "as text"),
    ],
)
def test_a_wrong_envelope_names_its_field(changes, field, words):
    problem = refusal(encoded(document() | changes)).problems[0]
    assert problem.field == field
    assert words in problem.message


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        (("services", 0, "main_a"), "200", "Write a number"),
        (("services", 0, "main_a"), True, "Write a number"),
        (("services", 0, "main_a"), -200, "0.1 or more"),
        (("services", 0, "colour"), "red", "not known"),
        (("services", 0, "name"), "a\x00b", "control characters"),
        (("circuits", 1, "panel_id"), "attic", "not on this site"),
        (("circuits", 1, "spaces", 0), 99, "84 or less"),
        (("scenarios", 0, "start"), "yesterday", "date and time"),
        (("scenarios", 0, "start"), "2026-11-26T12:00:00Z", "without a time zone"),
    ],
)
def test_a_wrong_figure_is_named_by_its_path(path, value, words):
    content = document()
    part = content["site"]
    for step in path[:-1]:
        part = part[step]
    part[path[-1]] = value
    problem = refusal(encoded(content)).problems[0]
    assert problem.field == ".".join(map(str, path))
    assert words in problem.message


def test_two_circuits_of_one_name_in_one_space_are_refused():
    content = document(normal_only_site())
    first, second, *_ = content["site"]["circuits"]
    second["name"], second["spaces"] = first["name"], first["spaces"]
    assert "both in space 1" in str(refusal(encoded(content)))


def test_half_a_character_is_refused():
    data = write_site_file(backed_up_site()).replace(b"Service grid", b"Service \\ud800")
    assert "half of a character" in str(refusal(data))


def test_many_problems_are_shortened():
    content = document()
    content["site"] |= {f"x{n}": 0 for n in range(400)}
    problems = refusal(encoded(content)).problems
    assert len(problems) == MAX_PROBLEMS + 1
    assert "350 more" in problems[-1].message


def test_a_local_time_may_be_written_with_a_space_and_without_seconds():
    content = document()
    content["site"]["scenarios"][0]["start"] = "2026-11-26 12:00"
    jsonschema.validate(content, site_schema())
    assert read_site_file(encoded(content)) == backed_up_site()


def test_a_file_that_could_not_be_read_back_is_not_written():
    note = "n" * 2000
    circuit = normal_only_site().circuits[0]
    appliance = circuit.appliances[0].model_copy(update={"note": note})
    crowd = tuple(
        circuit.model_copy(
            update={
                "id": f"c{i}",
                "spaces": (i + 1,),
                "appliances": tuple(
                    appliance.model_copy(update={"id": f"a{i}-{j}"}) for j in range(60)
                ),
            }
        )
        for i in range(33)
    )
    panel = normal_only_site().panels[0].model_copy(update={"spaces": 84})
    site = normal_only_site(panels=(panel,), circuits=crowd)
    with pytest.raises(SiteFileError, match="larger than 5 MB"):
        write_site_file(site)


@pytest.mark.parametrize("bracket", [b"[", b"]", b"[]", b'{"a":', b"[}"])
def test_endless_brackets_are_not_walked_to_their_end(bracket, monkeypatch):
    walked = []

    class Counted:
        def finditer(self, data):
            for match in brackets.finditer(data):
                walked.append(match)
                yield match

    brackets = strictjson._BRACKETS
    monkeypatch.setattr(strictjson, "_BRACKETS", Counted())
    refusal(bracket * (4_900_000 // len(bracket)))
    assert len(walked) <= 2 * strictjson.MAX_VALUES


def read_or_refused(data: bytes) -> None:
    try:
        assert isinstance(read_site_file(data), Site)
    except SiteFileError as refused:
        error = refused
    else:
        return
    assert error.problems
    assert all(p.message for p in error.problems)
    assert str(error).encode()


@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(data):
    read_or_refused(data)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=6,
)


@given(json_values)
def test_any_json_is_read_or_refused(value):
    read_or_refused(json.dumps(value).encode())
    read_or_refused(encoded({"format": "threebus-site", "version": 1, "site": value}))


def places_in(content: object, path: tuple = ()) -> list[tuple]:
    if isinstance(content, dict):
        children = content.items()
    elif isinstance(content, list):
        children = enumerate(content)
    else:
        return [path]
    return [path, *(p for key, child in children for p in places_in(child, (*path, key)))]


DOCUMENTS = [document(EVERY_SITE[name]()) for name in EVERY_NAME]


@settings(max_examples=300)
@given(st.data())
def test_any_change_to_a_good_file_is_read_or_refused(data):
    content = copy.deepcopy(data.draw(st.sampled_from(DOCUMENTS)))
    for _ in range(data.draw(st.integers(1, 3))):
        path = data.draw(st.sampled_from([p for p in places_in(content) if p]))
        part = content
        for step in path[:-1]:
            part = part[step]
        what = data.draw(st.sampled_from(["replace", "remove", "copy"]))
        if what == "remove":
            del part[path[-1]]
        elif what == "copy":
            other = data.draw(st.sampled_from(places_in(content)))
            value = content
            for step in other:
                value = value[step]
            part[path[-1]] = copy.deepcopy(value)
        else:
            part[path[-1]] = data.draw(json_values)
    read_or_refused(encoded(content))


def test_nesting_of_a_real_file_stays_well_inside_the_limit():
    depths = [
        max(len(p) for p in places_in(document(EVERY_SITE[name]()))) + 1 for name in EVERY_NAME
    ]
    assert max(depths) * 2 < MAX_DEPTH


def test_a_file_from_before_ground_metals_reads_as_copper():
    content = json.loads((DEMOS / "flower-farm.json").read_bytes())
    feeders = content["site"]["feeders"]
    for segment in (s for f in feeders for s in f["segments"]):
        del segment["ground_metal"]
    site = read_site_file(encoded(content))
    assert {s.ground_metal for f in site.feeders for s in f.segments} == {"copper"}


def test_a_file_from_before_feeders_without_a_neutral_has_one_in_each():
    content = json.loads((DEMOS / "flower-farm.json").read_bytes())
    for feeder in content["site"]["feeders"]:
        del feeder["no_neutral"]
    assert not any(f.no_neutral for f in read_site_file(encoded(content)).feeders)


def test_a_feeder_without_a_neutral_comes_back_as_it_went():
    content = json.loads((DEMOS / "bungalow.json").read_bytes())
    bare = content["site"]["feeders"][-1] | {"no_neutral": True, "neutral_ampacity_a": None}
    bare["segments"] = [s | {"neutral_size": None} for s in bare["segments"]]
    content["site"]["feeders"][-1] = bare
    site = read_site_file(encoded(content))
    assert site.feeders[-1].no_neutral
    written = write_site_file(site)
    assert read_site_file(written) == site
    jsonschema.validate(json.loads(written), site_schema())


@pytest.mark.parametrize(
    ("start", "taken"),
    [
        ("2026-11-26T17:30", True),
        ("2026-11-26 17:30:05.25", True),
        ("1900-01-01T00:00", True),
        ("2199-12-31T23:59", True),
        ("1899-12-31T23:59", False),
        ("2200-01-01T00:00", False),
        ("2026-11-26_17:30", False),
        ("2026-11-26t17:30", False),
        ("2026-11-26T17:30:00,5", False),
        ("2026-11-26T17:30:00.1234567", False),
        ("2026-11-26T24:00", False),
        ("2026-11-26T17:30:60", False),
        ("2026-13-01T00:00", False),
        ("2026-11-26T17:30Z", False),
        ("2026-11-26", False),
        ("1700000000", False),
        ("٢٠٢٦-11-26T17:30", False),
    ],
)
def test_schema_and_reader_take_the_same_times(start, taken):
    content = document(normal_only_site())
    content["site"]["scenarios"] = content["site"]["scenarios"][:1]
    content["site"]["scenarios"][0] |= {"start": start, "outages": []}
    assert _both(content) == (taken, taken)


@pytest.mark.parametrize(
    ("zone", "taken"),
    [("America/Detroit", True), ("UTC", True), ("", False), ("america/detroit", False),
     ("Factory", False), ("../etc/passwd", False), ("x" * 61, False)],
)  # fmt: skip
def test_schema_and_reader_take_the_same_time_zones(zone, taken):
    content = document(normal_only_site())
    content["site"]["place"]["time_zone"] = zone
    assert _both(content) == (taken, taken)


def _both(content):
    """Whether the schema takes a document, and whether the reader does."""
    validator = jsonschema.Draft202012Validator(site_schema())
    try:
        read_site_file(encoded(content))
    except SiteFileError:
        return validator.is_valid(content), False
    return validator.is_valid(content), True
