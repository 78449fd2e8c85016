"""Copies of a TOML file joined."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from paddock.engine.merge import merge_documents

LEAF = st.one_of(st.integers(0, 3), st.booleans(), st.sampled_from(["a", "b", ""]), st.decimals(0, 3, places=1))
LISTS = st.one_of(
    st.lists(st.sampled_from("abc"), max_size=3, unique=True), st.lists(st.integers(0, 2), max_size=2),
    st.lists(st.fixed_dictionaries({"code": st.sampled_from("XYZ"), "n": LEAF}), max_size=2, unique_by=lambda d: d["code"]),
)  # fmt: skip
DOCUMENT = st.recursive(
    st.dictionaries(st.sampled_from("pqr"), st.one_of(LEAF, LISTS), max_size=3),
    lambda inner: st.dictionaries(st.sampled_from("pqr"), st.one_of(LEAF, inner), max_size=3),
    max_leaves=6,
)


def merged(*copies: dict[str, Any]) -> dict[str, Any]:
    return merge_documents("event.toml", list(copies)).content


@given(DOCUMENT, DOCUMENT)
def test_either_order_gives_the_same(one: dict[str, Any], other: dict[str, Any]) -> None:
    there, back = merge_documents("x", [one, other]), merge_documents("x", [other, one])
    assert there.content == back.content
    assert list(there.content) == list(back.content)
    assert {(c.column, c.kept, c.others) for c in there.clashes} == {(c.column, c.kept, c.others) for c in back.clashes}


@given(DOCUMENT, DOCUMENT)
def test_joining_again_changes_nothing(one: dict[str, Any], other: dict[str, Any]) -> None:
    once = merged(one, other)
    for again in (merge_documents("x", [once, other]), merge_documents("x", [once, one])):
        assert again.content == once
        assert again.set_keys == 0


@given(DOCUMENT, DOCUMENT)
def test_no_key_is_lost(one: dict[str, Any], other: dict[str, Any]) -> None:
    found = merged(one, other)
    assert set(found) == set(one) | set(other)


def test_keys_of_both_and_a_clash() -> None:
    one = {"rules": {"cone_s": Decimal("2.0"), "miss": "invalid"}, "name": "A"}
    other = {"rules": {"cone_s": 2, "decimals": 3}, "name": "B", "site": "field"}
    found = merge_documents("event.toml", [one, other])
    assert found.content == {"name": "B", "rules": {"cone_s": 2, "miss": "invalid", "decimals": 3}, "site": "field"}
    assert [(c.column, c.kept, c.others) for c in found.clashes] == [("name", "B", ("A",))]
    assert found.set_keys == 3


def test_lists_of_text_are_joined_and_classes_meet_by_code() -> None:
    one = {"mine": {"numbers": ["26"]}, "classes": [{"code": "PINE"}, {"code": "OAK", "scored_by": "index"}]}
    other = {"mine": {"numbers": ["83", "26"]}, "classes": [{"code": "PINE", "name": "Pines"}, {"code": "FIR"}]}
    found = merged(one, other)
    assert found["mine"]["numbers"] == ["83", "26"]
    assert found["classes"] == [
        {"code": "PINE", "name": "Pines"},
        {"code": "FIR"},
        {"code": "OAK", "scored_by": "index"},
    ]
