"""What is kept of a circuit, a worksheet or a run never outlives what it was worked out from."""

from __future__ import annotations

import copy
import gc
import json
import pickle
import weakref
from dataclasses import asdict, replace
from itertools import pairwise

import pytest
from pydantic import TypeAdapter

from server.domain.edits import put_circuit
from server.exchange.sitefile import read_site_file
from server.paths import DEMOS
from server.rules.check import check_site
from server.rules.demand import circuit_loads, mapping, reach, standard
from server.rules.editions import EDITIONS, rulebook
from server.rules.wiring import ampacity, laid, sizing
from server.rules.wiring.raceway import Fill
from server.rules.wiring.run import Run

FARM = read_site_file((DEMOS / "flower-farm.json").read_bytes())
KEPT = (
    circuit_loads.loads_of,
    standard._built_alike,
    ampacity._ampacity,
    laid.segment_wiring,
    sizing._size_run,
)


def forgotten() -> None:
    for kept in KEPT:
        kept.cache_clear()


def told(site, edition):
    report = check_site(site, edition=edition)
    return report.demand, report.wiring, report.findings


def with_first_at(load_w: float):
    circuit = next(c for c in FARM.circuits if len(c.appliances) == 1 and c.poles == 2)
    appliances = tuple(a.model_copy(update={"load_w": load_w}) for a in circuit.appliances)
    return put_circuit(FARM, circuit.model_copy(update={"appliances": appliances}))


def test_an_edit_is_answered_the_same_with_and_without_what_was_kept():
    changed = with_first_at(4_321.0)
    for edition in EDITIONS:
        forgotten()
        fresh = told(changed, edition)
        forgotten()
        told(FARM, edition)
        assert told(changed, edition) == fresh


def test_each_load_tells_another_total():
    forgotten()
    sheets = [
        check_site(with_first_at(w)).demand[0].sheet("standard") for w in (15e3, 18e3, 21e3, 24e3)
    ]
    assert all(a.total_va < b.total_va for a, b in pairwise(sheets))


def test_what_differs_by_name_and_rating_alone_shares_its_lines_but_not_its_title():
    rules = rulebook("2023")
    dwelling = mapping.dwelling_of(FARM, FARM.services[0].id, rules=rules)
    one = standard.standard(dwelling, rules)
    two = standard.standard(replace(dwelling, name="Mill", existing_a=60.0), rules)
    assert one.lines is two.lines
    assert two.title == "Mill, standard method"
    assert (two.existing_a, two.fits) == (60.0, False)


def test_what_is_kept_is_bounded():
    assert all(kept.cache_info().maxsize for kept in KEPT)


def test_what_an_element_carries_is_kept_for_a_few_sites_and_lets_the_others_go():
    service = FARM.services[0].id
    revisions = [FARM.model_copy(update={"note": f"revision {i}"}) for i in range(20)]
    for site in revisions:
        carried = reach.carried_by(site, service, reach.resting(site))
        assert carried is reach.carried_by(site, service, reach.resting(site))
        assert reach.dwelling_circuits(site, service, reach.resting(site))
    told = [weakref.ref(site) for site in revisions]
    del site, revisions
    gc.collect()
    assert sum(one() is not None for one in told) <= reach.MOST_SITES


@pytest.mark.parametrize(
    "change",
    [
        lambda kept: kept.__setitem__("pvc40", None),
        lambda kept: kept.pop("pvc40"),
        lambda kept: kept.update(pvc40=None),
        lambda kept: kept.setdefault("other", None),
        lambda kept: kept.clear(),
        lambda kept: kept.popitem(),
        lambda kept: kept.__delitem__("pvc40"),
        lambda kept: kept.__ior__({"pvc40": None}),
    ],
)
def test_nobody_can_change_the_raceways_of_a_sized_run_that_is_kept(change):
    asked = Run(150, noncontinuous_a=48, neutral_a=20, device_a=60)
    kept = sizing.size_run(asked, rulebook("2023"))
    assert sizing.size_run(asked, rulebook("2023")) is kept
    before = dict(kept.raceways)
    with pytest.raises(TypeError, match="kept and shared"):
        change(kept.raceways)
    assert kept.raceways == before


def test_raceways_are_written_and_taken_apart_like_any_mapping():
    kept = sizing.size_run(Run(150, noncontinuous_a=48, device_a=60), rulebook("2023"))
    kind = TypeAdapter(dict[str, Fill | None])
    assert json.loads(kind.dump_json(kept.raceways)) == kind.dump_python(
        dict(kept.raceways), mode="json"
    )
    assert asdict(kept)["raceways"]["pvc40"]["count"] == 3
    assert copy.deepcopy(kept.raceways) == kept.raceways
    assert pickle.loads(pickle.dumps(kept.raceways)) == kept.raceways
