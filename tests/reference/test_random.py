"""The counter-based generator against numpy's own Philox (4x64, 10 rounds), and pinned draws.

Source: ``numpy.random.Philox``. The pinned table was drawn with numpy's generator, not ours.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.physics.random import philox, stream_of, uniform_pair

WORD = st.integers(0, 2**64 - 1)


def words_of_numpy(counter: tuple[int, ...], key: tuple[int, int]) -> tuple[int, ...]:
    """Numpy steps its counter before it draws, so it is set one back."""
    whole = sum(c << (64 * i) for i, c in enumerate(counter))
    before = (whole - 1) % 2**256
    start = np.array([(before >> (64 * i)) % 2**64 for i in range(4)], dtype=np.uint64)
    bits = np.random.Philox(counter=start, key=np.array(key, dtype=np.uint64))
    return tuple(int(w) for w in bits.random_raw(4))


@given(counter=st.tuples(WORD, WORD, WORD, WORD), key=st.tuples(WORD, WORD))
def test_words_equal_numpy(counter: tuple[int, ...], key: tuple[int, int]) -> None:
    ours = philox(*map(np.uint64, counter), *map(np.uint64, key))
    assert tuple(int(w) for w in ours) == words_of_numpy(counter, key)


def test_known_answer_of_the_zero_counter() -> None:
    """Random123 known answers, philox4x64 10, all zeros (kat_vectors): from memory, as numpy."""
    zero = np.uint64(0)
    expected = (0x16554D9ECA36314C, 0xDB20FE9D672D0FDC, 0xD7E772CEE186176B, 0x7E68B68AEC7BA23B)
    assert tuple(int(w) for w in philox(zero, zero, zero, zero, zero, zero)) == expected
    assert words_of_numpy((0, 0, 0, 0), (0, 0)) == expected


@given(seed=st.integers(0, 2**63 - 1), stream=WORD, draw=st.integers(0, 10_000))
def test_uniforms_are_the_top_53_bits(seed: int, stream: int, draw: int) -> None:
    event = 7
    pair = uniform_pair(np.uint64(seed), np.uint64(stream), np.uint64(draw), np.uint64(event))
    words = words_of_numpy((event, draw, 0, 0), (seed, stream))
    assert pair == (float(words[0] >> 11) / 2**53, float(words[1] >> 11) / 2**53)
    assert 0.0 <= pair[0] < 1.0
    assert 0.0 <= pair[1] < 1.0


PINNED = {
    # (seed, stream name, draw, event): first uniform of the pair, as numpy.random.Philox gives it
    (1, "fridge", 0, 0): 0.17064833660516865,
    (1, "fridge", 0, 1): 0.6489910036236318,
    (1, "fridge", 1, 0): 0.6150911182966822,
    (2, "fridge", 0, 0): 0.7915810958614686,
    (1, "well-pump", 0, 0): 0.34189987758576157,
    (1, "well-pump", 0, 1099511627776): 0.11499306233116646,
    (20261125, "water-heater", 3, 17): 0.7933435371651363,
    (9223372036854775807, "a", 9999, 5): 0.020036791126200937,
}


@pytest.mark.parametrize("case", PINNED, ids=str)
def test_pinned_draws_never_change(case: tuple[int, str, int, int]) -> None:
    seed, name, draw, event = case
    first, _ = uniform_pair(
        np.uint64(seed), np.uint64(stream_of(name)), np.uint64(draw), np.uint64(event)
    )
    assert first == PINNED[case]
