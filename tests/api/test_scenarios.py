import csv
import io
import threading
from types import SimpleNamespace

import anyio
import pytest
from anyio import to_thread
from starlette.exceptions import HTTPException

from server.advise.advice import advice_on
from server.advise.next_step import next_step
from server.advise.relief import relief_of
from server.advise.views import relief_answer
from server.api import draws
from server.rules.hazards import hazards
from server.simulate.ensemble import run_draws
from server.simulate.odds import odds_of
from server.simulate.run import simulate
from server.simulate.summary import summary
from tests.builders import backed_up_site, double_throw_site, scenario, with_parts


def plain(part) -> dict:
    return part.model_dump(mode="json")


def test_scenarios_are_listed_read_put_and_removed(client, add):
    url = f"sites/{add()['id']}/scenarios"
    assert [s["id"] for s in client.get(url).json()["scenarios"]] == ["day", "out"]
    new = plain(scenario("new", span_h=2))
    added = client.put(f"{url}/new", json={"revision": 1, "scenario": new})
    assert added.status_code == 200
    assert client.get(f"{url}/new").json() == new
    assert client.delete(f"{url}/new", params={"revision": 2}).status_code == 200
    assert client.get(f"{url}/new").status_code == 404


def test_a_scenario_under_another_id_is_refused(client, add):
    url = f"sites/{add()['id']}/scenarios"
    answer = client.put(f"{url}/new", json={"revision": 1, "scenario": plain(scenario("other"))})
    assert answer.status_code == 422


def test_a_time_with_a_zone_is_refused_by_name(client, add):
    url = f"sites/{add()['id']}/scenarios"
    new = plain(scenario("new")) | {"start": "2026-11-26T12:00:00Z"}
    answer = client.put(f"{url}/new", json={"revision": 1, "scenario": new})
    assert answer.json()["problems"] == [
        {
            "field": "scenario.start",
            "message": "Give local wall-clock time, without a time zone.",
        }
    ]


def test_a_run_is_the_one_the_simulator_makes(client, add):
    site = double_throw_site(solar=True)
    saved = add(site)
    answer = client.get(f"sites/{saved['id']}/scenarios/out/run").json()
    made = simulate(site, site.scenario("out"))
    expected = summary(made, hazards=hazards(site), advice=advice_on(made))
    assert answer["summary"] == expected
    assert answer["revision"] == 1
    assert answer["series"] is None


def test_asking_and_sending_give_the_same_run(client, add):
    url = f"sites/{add()['id']}/scenarios/day/run"
    asked = client.get(url, params={"seed": 9, "series": 1}).json()
    assert client.post(url, json={"seed": 9, "series": True}).json() == asked
    assert asked["summary"]["seed"] == 9
    assert client.post(url).json()["summary"]["seed"] == 1


def test_the_series_peaks_where_the_summary_says(client, add):
    answer = client.get(f"sites/{add()['id']}/scenarios/out/run", params={"series": 1}).json()
    for limit, point in zip(answer["summary"]["limits"], answer["series"]["points"], strict=True):
        assert limit["id"] == point["point_id"]
        assert len(point["l1_a"]) == 360
        if limit["kind"] != "feeder_neutral":
            assert max(point["l1_a"]) == pytest.approx(limit["legs"][0]["peak_a"], abs=1e-3)
            assert max(point["l2_a"]) == pytest.approx(limit["legs"][1]["peak_a"], abs=1e-3)


def test_contributors_sum_to_the_peak_of_every_leg(client, add):
    answer = client.get(f"sites/{add()['id']}/scenarios/day/run").json()
    for limit in answer["summary"]["limits"]:
        for leg in limit["legs"]:
            parts = sum(c["amps_a"] for c in leg["contributors"])
            assert parts == pytest.approx(leg["peak_a"], abs=0.02)


def test_contributors_sum_to_the_peak_with_short_steps(client, add):
    site = with_parts(backed_up_site(), scenarios=(scenario("fine", span_h=1, step_s=10),))
    answer = client.get(f"sites/{add(site)['id']}/scenarios/fine/run").json()
    main = next(p for p in answer["summary"]["limits"] if p["kind"] == "service_main")
    parts = sum(c["amps_a"] for c in main["legs"][0]["contributors"])
    assert parts == pytest.approx(main["legs"][0]["peak_a"], abs=0.02)


def test_the_csv_has_a_row_for_each_step(client, add):
    saved = add()
    answer = client.get(f"sites/{saved['id']}/scenarios/day/series.csv")
    rows = list(csv.reader(io.StringIO(answer.text)))
    assert len(rows) == 1 + 360
    assert answer.headers["content-type"].startswith("text/csv")
    assert f'"{saved["id"]}-day.csv"' in answer.headers["content-disposition"]


@pytest.mark.parametrize("seed", ["-1", "x", str(2**63)])
def test_an_impossible_seed_is_refused(client, add, seed):
    url = f"sites/{add()['id']}/scenarios/day/run"
    answer = client.get(url, params={"seed": seed})
    assert answer.status_code == 422
    assert answer.json()["problems"][0]["field"] == "seed"


def test_an_unknown_scenario_is_not_found(client, add):
    url = f"sites/{add()['id']}/scenarios/zz"
    for end in ("", "/run", "/series.csv"):
        assert client.get(url + end).status_code == 404


def test_relief_is_the_one_the_advice_makes(client, add):
    site = double_throw_site(solar=True)
    saved = add(site)
    url = f"sites/{saved['id']}/scenarios/out/relief"
    answer = client.get(url).json()
    found = relief_of(site, site.scenario("out"))
    assert answer == relief_answer(found, next_step(site, site.scenario("out"))).model_dump(
        mode="json"
    )
    assert answer["relief"]["candidates"]
    point = answer["relief"]["point_id"]
    assert client.get(url, params={"point": point}).json()["relief"] == answer["relief"]
    assert client.get(url, params={"point": "none"}).status_code == 404


def test_draws_add_the_odds_of_every_limit(client, add):
    site = backed_up_site()
    url = f"sites/{add(site)['id']}/scenarios/out/run"
    answer = client.get(url, params={"draws": 12}).json()
    odds = answer["odds"]
    made = odds_of(
        site, site.scenario("out"), run_draws(site, site.scenario("out"), draws=range(12))
    )
    assert odds["draws"] == 12
    assert odds["any_over"]["hits"] == made.any_over.hits
    for one, told in zip(made.limits, odds["limits"], strict=True):
        assert told["l1"]["p95"] == pytest.approx(one.legs[0].p95, abs=1e-4)
        assert told["crossed"]["draws"] == 12
    assert client.post(url, json={"draws": 12}).json() == answer
    other = client.post(url, json={"draws": 12, "seed": 5}).json()["odds"]
    assert other["seed"] == 5
    assert client.get(url).json()["odds"] is None


def test_draws_end_soon_after_their_client_has_gone(monkeypatch):
    site = backed_up_site()
    made = []

    async def gone():
        return len(made) == 2

    def counted(*asked, **kept):
        made.append(kept["draws"])
        return run_draws(*asked, **kept)

    monkeypatch.setattr(draws, "run_draws", counted)
    request = SimpleNamespace(is_disconnected=gone)

    async def asked():
        return await to_thread.run_sync(
            lambda: draws.draws_while_there(
                request, site, site.scenario("out"), count=40, seed=None
            )
        )

    assert len(anyio.run(asked)) == 32
    assert made == [range(16), range(16, 32)]


def test_no_draw_is_made_for_a_client_that_went_while_it_waited(monkeypatch):
    site = backed_up_site()
    monkeypatch.setattr(draws, "run_draws", lambda *_, **__: pytest.fail("a draw was made"))

    async def gone():
        return True

    request = SimpleNamespace(is_disconnected=gone)

    async def asked():
        return await to_thread.run_sync(
            lambda: draws.draws_while_there(request, site, site.scenario("out"), count=4, seed=None)
        )

    with pytest.raises(HTTPException, match="waits"):
        anyio.run(asked)


def test_draws_are_refused_when_too_many_wait_and_made_again_after(monkeypatch, client, add):
    url = f"sites/{add()['id']}/scenarios/out/run"
    monkeypatch.setattr(draws, "_places", threading.Semaphore(0))
    refused = client.get(url, params={"draws": 2})
    assert refused.status_code == 503
    assert int(refused.headers["Retry-After"]) > 0
    assert "Ask again" in refused.json()["detail"]
    assert client.get(url).status_code == 200
    monkeypatch.setattr(draws, "_places", threading.Semaphore(1))
    for seed in (1, 2):
        answer = client.get(url, params={"draws": 2, "seed": seed})
        assert answer.json()["odds"]["draws"] == 2


@pytest.mark.parametrize("draws", [0, -1, 5000, "many"])
def test_too_many_draws_or_none_are_refused(client, add, draws):
    url = f"sites/{add()['id']}/scenarios/day/run"
    assert client.get(url, params={"draws": draws}).status_code == 422
    assert client.post(url, json={"draws": draws}).status_code == 422
