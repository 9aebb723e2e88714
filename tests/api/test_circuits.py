from tests.builders import circuit


def circuit_json(*args, **changes) -> dict:
    return circuit(*args, **changes).model_dump(mode="json")


def bus_of(assignment: dict, circuit_id: str) -> str:
    return next(
        bus["name"]
        for bus in assignment["buses"]
        if circuit_id in {c["id"] for c in bus["circuits"]}
    )


def test_buses_carry_panels_free_spaces_and_circuits(client, add):
    saved = add()
    assignment = client.get(f"sites/{saved['id']}/buses").json()
    assert [bus["kind"] for bus in assignment["buses"]] == ["normal", "backed_up", "switchable"]
    (panel,) = assignment["buses"][2]["panels"]
    assert panel["id"] == "swing"
    assert 1 not in panel["free_spaces"]
    assert 2 in panel["free_spaces"]


def test_a_moved_circuit_lands_on_the_other_bus(client, add):
    saved = add()
    url = f"sites/{saved['id']}"
    assert bus_of(client.get(f"{url}/buses").json(), "b") == "Backed-up"
    answer = client.post(f"{url}/move", json={"revision": 1, "circuit_id": "b", "panel_id": "main"})
    assert answer.status_code == 200
    assert answer.json()["undo_label"] == "Moved Circuit b to Normal"
    assert bus_of(client.get(f"{url}/buses").json(), "b") == "Normal"


def test_a_move_to_chosen_spaces_uses_them(client, add):
    url = f"sites/{add()['id']}"
    move = {"revision": 1, "circuit_id": "b", "panel_id": "main", "spaces": [14]}
    client.post(f"{url}/move", json=move)
    assert client.get(f"{url}/circuits/b").json()["spaces"] == [14]


def test_a_pinned_circuit_does_not_move(client, add):
    url = f"sites/{add()['id']}"
    pinned = client.post(f"{url}/pin", json={"revision": 1, "circuit_id": "b", "pinned": True})
    revision = pinned.json()["revision"]
    move = {"revision": revision, "circuit_id": "b", "panel_id": "main"}
    answer = client.post(f"{url}/move", json=move)
    assert answer.status_code == 422
    assert "pinned" in answer.json()["detail"]
    assert (
        client.post(
            f"{url}/pin", json={"revision": revision, "circuit_id": "b", "pinned": False}
        ).json()["site"]["circuits"][1]["pinned"]
        is False
    )


def test_an_unknown_panel_or_circuit_is_not_found(client, add):
    url = f"sites/{add()['id']}"
    for circuit_id, panel_id in (("b", "attic"), ("zz", "main")):
        move = {"revision": 1, "circuit_id": circuit_id, "panel_id": panel_id}
        assert client.post(f"{url}/move", json=move).status_code == 404
    assert client.get(f"{url}/circuits/zz").status_code == 404


def test_a_stale_move_says_stale_even_when_it_would_not_fit(client, add):
    url = f"sites/{add()['id']}"
    move = {"revision": 7, "circuit_id": "zz", "panel_id": "attic"}
    answer = client.post(f"{url}/move", json=move)
    assert answer.status_code == 409
    assert answer.json()["revision"] == 1


def test_a_circuit_is_added_edited_and_removed(client, add):
    url = f"sites/{add()['id']}"
    new = circuit_json("new", "main", 9, load_w=500)
    added = client.post(f"{url}/circuits", json={"revision": 1, "circuit": new})
    assert added.status_code == 201
    assert client.get(f"{url}/circuits/new").json() == new
    edited = client.put(
        f"{url}/circuits/new", json={"revision": 2, "circuit": new | {"name": "Porch"}}
    )
    assert edited.json()["undo_label"] == "Edited Porch"
    removed = client.delete(f"{url}/circuits/new", params={"revision": 3})
    assert removed.json()["undo_label"] == "Removed Porch"
    listed = client.get(f"{url}/circuits").json()
    assert listed["revision"] == 4
    assert "new" not in {c["id"] for c in listed["circuits"]}


def test_an_id_that_is_taken_or_differs_from_the_address_is_refused(client, add):
    url = f"sites/{add()['id']}"
    taken = client.post(
        f"{url}/circuits", json={"revision": 1, "circuit": circuit_json("a", "main", 9)}
    )
    other = client.put(
        f"{url}/circuits/a", json={"revision": 1, "circuit": circuit_json("b", "main", 9)}
    )
    for answer in (taken, other):
        assert answer.status_code == 422
        assert answer.json()["problems"][0]["field"] == "circuit.id"


def test_a_taken_space_is_named(client, add):
    url = f"sites/{add()['id']}"
    new = circuit_json("new", "main", 1, load_w=500)
    answer = client.post(f"{url}/circuits", json={"revision": 1, "circuit": new})
    assert answer.status_code == 422
    assert "both in space 1" in answer.json()["problems"][0]["message"]
