"""Rules as settings and as a JSON file: read back as written, and every wrong key told by its name."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.model.document.cut import Setting
from app.model.first_pass.rules import (
    DEFAULT,
    RULES,
    Kind,
    RulesError,
    json_of_rules,
    rules_of,
    rules_of_json,
    settings_of,
)
from tests.app.model.first_pass.random_cuts import random_rules


@given(st.integers(0, 10**6))
def test_rules_are_read_back_as_they_were_written(seed: int) -> None:
    rules = random_rules(seed)
    assert rules_of(settings_of(rules)) == rules
    again = rules_of_json(json_of_rules(rules))
    assert all(again.value(rule.name) == rules.value(rule.name) for rule in RULES)
    assert set(json.loads(json_of_rules(rules))) == {rule.name for rule in RULES}


def test_every_rule_has_a_sentence_and_a_default_that_it_may_have() -> None:
    for rule in RULES:
        assert rule.words.endswith(".")
        assert rules_of([Setting(rule.name, rule.default)]).value(rule.name) == DEFAULT.value(rule.name)


def test_what_rules_say() -> None:
    rules = rules_of_json(
        '{"needs": "always", "safety": "never", "view": 7, "pace": "fast", "pace C": "2-4"}'
    )
    assert (rules.weight("needs"), rules.weight("safety"), rules.weight("view")) == (None, 0, 7)
    assert (rules.pace("A"), rules.pace("C")) == ("fast", "2-4")
    assert DEFAULT.pace("C") == "energy"
    with pytest.raises(KeyError):
        rules.value("no rule")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('{"needz": 3}', "There is no rule 'needz'. Rules are: needs, keepers,"),
        (
            '{"needs": "often"}',
            "'needs' says 'often'. Write always, never, or a whole number from 0 to 1000.",
        ),
        ('{"needs": -1}', "'needs' says '-1'."),
        ('{"needs": 1001}', "'needs' says '1001'."),
        ('{"needs": 1.5}', "'needs' is neither a text nor a whole number."),
        ('{"needs": true}', "'needs' is neither a text nor a whole number."),
        ('{"needs": null}', "'needs' is neither a text nor a whole number."),
        ('{"needs": 1, "needs": 2}', "The rules say 'needs' twice."),
        ('{"pace": "brisk"}', "'pace' says 'brisk'. Write energy, slow, medium, fast, or bars such as 2-4."),
        ('{"pace": "4-2"}', "'pace' says '4-2'."),
        ('{"pace": 0}', "'pace' says '0'."),
        ('{"pace ": "fast"}', "There is no rule 'pace '."),
        ('{"cuts": "anywhere"}', "'cuts' says 'anywhere'. Write downbeats or beats."),
        ('{"frames before": 25}', "'frames before' says '25'. Write a whole number from 0 to 24."),
        ("[]", "The rules are no JSON object."),
        ("{", "The rules are no JSON:"),
    ],
)
def test_what_is_no_rule_is_told_with_its_key(text: str, said: str) -> None:
    with pytest.raises(RulesError) as error:
        rules_of_json(text)
    assert str(error.value).startswith(said)


def test_settings_of_a_document_are_checked_too() -> None:
    with pytest.raises(RulesError, match="twice"):
        rules_of([Setting("needs", "1"), Setting("needs", "2")])
    with pytest.raises(RulesError, match="no rule 'faults'"):
        rules_of([Setting("faults", "never")])
    for kind in Kind:
        assert any(rule.kind is kind for rule in RULES)
