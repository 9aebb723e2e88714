import json

import jsonschema
import pytest

from server.exchange.sitefile import read_site_file, site_schema, write_site_file
from tests.builders import double_throw_site


def renamed(saved: dict, name: str) -> dict:
    return {"revision": saved["revision"], "site": saved["site"] | {"name": name}}


def test_a_site_file_becomes_a_site_and_comes_back_the_same(client, add):
    saved = add()
    answer = client.get(f"sites/{saved['id']}/file")
    assert read_site_file(answer.content) == double_throw_site()
    assert answer.headers["content-disposition"] == f'attachment; filename="{saved["id"]}.json"'
    jsonschema.validate(answer.json(), client.get("schema").json())
    assert client.get("schema").json() == site_schema()


def test_sites_are_listed_by_name(client, add):
    saved = add()
    (card,) = client.get("sites").json()
    assert card["id"] == saved["id"]
    assert card["circuits"] == len(double_throw_site().circuits)


def test_an_edit_of_the_whole_site_raises_the_revision(client, add):
    saved = add()
    answer = client.put(f"sites/{saved['id']}", json=renamed(saved, "New name"))
    assert answer.status_code == 200
    assert answer.json()["revision"] == saved["revision"] + 1
    assert client.get(f"sites/{saved['id']}").json()["site"]["name"] == "New name"


def test_a_stale_edit_is_refused_with_the_current_revision(client, add):
    saved = add()
    client.put(f"sites/{saved['id']}", json=renamed(saved, "First"))
    answer = client.put(f"sites/{saved['id']}", json=renamed(saved, "Second"))
    assert answer.status_code == 409
    assert answer.json()["revision"] == saved["revision"] + 1
    assert answer.headers["content-type"] == "application/problem+json"
    assert client.get(f"sites/{saved['id']}").json()["site"]["name"] == "First"


def test_undo_and_redo_walk_the_history(client, add):
    saved = add()
    url = f"sites/{saved['id']}"
    client.put(url, json=renamed(saved, "New name"))
    undone = client.post(f"{url}/undo").json()
    assert undone["site"]["name"] == saved["site"]["name"]
    assert undone["redo_label"] == "Edited the site"
    redone = client.post(f"{url}/redo", json={"revision": undone["revision"]}).json()
    assert redone["site"]["name"] == "New name"
    stale = client.post(f"{url}/undo", json={"revision": undone["revision"]})
    assert stale.status_code == 409
    assert client.post(f"{url}/redo").status_code == 422
    labels = [change["label"] for change in client.get(f"{url}/changes").json()]
    assert "Edited the site" in labels


def test_a_deleted_site_is_gone_and_can_be_restored(client, add):
    saved = add()
    url = f"sites/{saved['id']}"
    assert client.delete(url).status_code == 204
    assert client.get(url).status_code == 404
    assert client.get("sites").json() == []
    assert client.get("deleted-sites").json()[0]["id"] == saved["id"]
    assert client.post(f"{url}/restore").json()["site"] == saved["site"]
    assert client.get(url).status_code == 200


def test_a_deleted_site_can_be_removed_for_good(client, add):
    saved = add()
    kept = f"deleted-sites/{saved['id']}"
    url = f"sites/{saved['id']}"
    assert client.delete(kept).status_code == 422
    assert client.delete(url).status_code == 204
    shown = {"deleted_at": client.get("deleted-sites").json()[0]["deleted_at"]}
    assert client.post(f"{url}/restore").status_code == 200
    assert client.delete(kept, params=shown).status_code == 422
    assert client.delete(url).status_code == 204
    assert client.delete(kept, params=shown).status_code == 409
    shown = {"deleted_at": client.get("deleted-sites").json()[0]["deleted_at"]}
    assert client.delete(kept, params=shown).status_code == 204
    assert client.get("deleted-sites").json() == []
    assert client.delete(kept, params=shown).status_code == 404


def test_a_copy_has_its_own_id(client, add):
    saved = add()
    copy = client.post(f"sites/{saved['id']}/duplicate")
    assert copy.status_code == 201
    assert copy.json()["id"] != saved["id"]
    assert len(client.get("sites").json()) == 2


def test_a_wrong_site_file_names_the_field(client):
    content = json.loads(write_site_file(double_throw_site()))
    content["site"]["services"][0]["main_a"] = -1
    answer = client.post("sites", json=content)
    assert answer.status_code == 422
    assert answer.json()["problems"] == [
        {
            "field": "services.0.main_a",
            "message": "This must be 0.1 or more; 0.1 to 4,000 is permitted.",
        }
    ]


def test_a_wrong_edit_names_the_field(client, add):
    saved = add()
    edit = renamed(saved, "House")
    edit["site"]["circuits"][0]["panel_id"] = "attic"
    answer = client.put(f"sites/{saved['id']}", json=edit)
    assert answer.status_code == 422
    assert answer.json()["problems"][0]["field"] == "circuits.0.panel_id"


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"[" * 100_000, 400),
        (b'{"revision": NaN, "site": {}}', 422),
        (b'{"revision": ' + b"9" * 5_000 + b"}", 400),
        (b'{"revision": 1e999}', 422),
        (b'{"revision": 1, "revision": 2}', 422),
        (b'{"site": {"circuits": [' + b"{}," * 300_000 + b"{}]}}", 422),
        (b'{"\\ud800": 1}', 422),
        (b'{"revision": 1, "site": {"name": "\\ud800"}}', 422),
        (b"\xff\xfe", 422),
        (b"", 422),
        (b"null", 422),
    ],
)
def test_a_broken_body_is_a_problem_not_a_failure(client, add, body, status):
    answer = client.put(
        f"sites/{add()['id']}", content=body, headers={"content-type": "application/json"}
    )
    assert answer.status_code == status
    assert answer.json()["status"] == status


@pytest.mark.parametrize("site_id", ["nope", "a" * 80])
def test_an_unknown_site_is_not_found(client, site_id):
    answer = client.get(f"sites/{site_id}")
    assert answer.status_code == 404
    assert site_id in answer.json()["detail"]


@pytest.mark.parametrize("site_id", ["%00", "..%2f..%2fetc", "A%20B", "x" * 81, "%ed%a0%80"])
def test_an_impossible_id_is_refused_before_the_database(client, site_id):
    assert client.get(f"sites/{site_id}").status_code in {404, 422}
