"""Problems stand at the field that mends them, in the order of the form."""

from fastapi.testclient import TestClient

from server.domain.errors import Problem
from server.store.sites import SiteStore
from server.web.forms import with_problems
from tests.builders import circuit, normal_only_site, with_parts
from tests.web.conftest import form_in, problem_at


def test_problems_are_listed_in_the_order_of_the_form():
    values = {"name": "", "weather.low_f": "x", "fuel_at_start_share": "y"}
    found = ("fuel_at_start_share", "name", "weather.low_f")
    form = with_problems(values, [Problem(name, "Wrong.") for name in found])
    assert list(form.problems) == list(values)


def test_what_another_part_claims_stands_at_the_field_typed_into():
    taken = Problem("transfer_switches.0.spaces", "Both are there.", "circuits.2.spaces")
    form = with_problems({"space": "3"}, [taken], strip="circuits.2.", aliases={"spaces": "space"})
    assert (form.problem("space"), form.others) == ("Both are there.", ())


def test_space_of_a_later_circuit_is_told_at_the_space(browser: TestClient, sites: SiteStore):
    pair = (circuit("a", "main", 5), circuit("b", "main", 7))
    made = sites.create(with_parts(normal_only_site(), circuits=pair))
    path = f"/sites/{made.id}/circuits/a"
    answer = browser.post(path, data=form_in(browser.get(path).text, path) | {"space": "7"})
    assert answer.status_code == 422
    assert "both in space 7" in problem_at(answer.text, "space")
    assert '<a href="#f-space">Space</a>' in answer.text
