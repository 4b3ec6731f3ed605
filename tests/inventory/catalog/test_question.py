import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.catalog.question import Entry, Question, best_question, remaining

TRAITS = ("trim", "wheel", "band")


def entry(pk, answer, **traits):
    return Entry(
        pk=pk, answer=answer, traits={name: frozenset(choices) for name, choices in traits.items()}
    )


def asked(entries, **options) -> Question:
    question = best_question(entries, **options)
    assert question is not None
    return question


class TestRemaining:
    def test_an_entry_that_does_not_say_stays(self):
        entries = [entry(1, "x", trim={"LX"}), entry(2, "y", trim={"GT"}), entry(3, "z")]
        assert [e.pk for e in remaining(entries, {"trim": "LX"})] == [1, 3]


class TestBestQuestion:
    def test_asks_nothing_when_all_have_one_answer(self):
        entries = [entry(1, "x", trim={"LX"}), entry(2, "x", trim={"GT"})]
        assert best_question(entries, traits=TRAITS) is None

    def test_asks_what_separates_the_parts_and_not_what_merely_differs(self):
        entries = [
            entry(1, "x", trim={"LX"}, wheel={"Steel"}),
            entry(2, "x", trim={"GT"}, wheel={"Steel"}),
            entry(3, "y", trim={"LX"}, wheel={"Alloy"}),
            entry(4, "y", trim={"GT"}, wheel={"Alloy"}),
        ]
        question = asked(entries, traits=TRAITS)
        assert (question.trait, question.choices) == ("wheel", ("Alloy", "Steel"))
        assert question.answers_left == 1

    def test_the_easier_of_two_equal_questions_is_asked(self):
        entries = [
            entry(1, "x", trim={"LX"}, wheel={"Steel"}),
            entry(2, "y", trim={"GT"}, wheel={"Alloy"}),
        ]
        assert asked(entries, traits=("trim", "wheel")).trait == "trim"
        assert asked(entries, traits=("wheel", "trim")).trait == "wheel"

    def test_a_question_that_was_passed_is_not_asked_again(self):
        entries = [entry(1, "x", trim={"LX"}), entry(2, "y", trim={"GT"})]
        assert best_question(entries, traits=TRAITS, passed=["trim"]) is None

    def test_an_entry_on_both_sides_counts_half_on_each(self):
        # Worked by hand: "before" is replied by entry 1 and half of entry 2, weight 3/4, and
        # leaves x and y; "from" by the other half, weight 1/4, and leaves y alone: 7/4.
        entries = [entry(1, "x", built={"before"}), entry(2, "y", built={"before", "from"})]
        assert asked(entries, traits=["built"]).answers_left == pytest.approx(1.75)


choices = {"trim": ["LX", "GT", "S"], "wheel": ["Alloy", "Steel"], "band": ["315", "433"]}
catalogues = st.lists(
    st.builds(
        Entry,
        pk=st.integers(1, 10**6),
        answer=st.sampled_from("wxyz"),
        traits=st.fixed_dictionaries(
            {},
            optional={
                name: st.frozensets(st.sampled_from(names), min_size=1)
                for name, names in choices.items()
            },
        ),
    ),
    min_size=1,
    max_size=8,
)


def expected_left(entries, trait):
    """By exhaustion: every vehicle it may be, every reply it may give, what is then left."""
    replies = set(itertools.chain(*(e.traits.get(trait, ()) for e in entries)))
    if not replies:
        return len({e.answer for e in entries})
    total = 0.0
    for true in entries:
        possible = [r for r in replies if trait not in true.traits or r in true.traits[trait]]
        for reply in possible:
            left = {e.answer for e in remaining(entries, {trait: reply})}
            total += len(left) / len(possible) / len(entries)
    return total


class TestBestQuestionOnAnyCatalogue:
    @given(catalogues)
    def test_no_other_question_leaves_fewer_answers(self, entries):
        now = len({e.answer for e in entries})
        best = min(expected_left(entries, trait) for trait in TRAITS)
        question = best_question(entries, traits=TRAITS)
        if question is None:
            assert best == pytest.approx(now)
        else:
            assert question.answers_left == pytest.approx(best)
            assert question.answers_left == pytest.approx(expected_left(entries, question.trait))

    @given(catalogues, st.data())
    def test_asking_ends_and_never_loses_the_vehicle(self, entries, data):
        true = data.draw(st.sampled_from(entries))
        answers: dict[str, str] = {}
        left = entries
        while question := best_question(left, traits=TRAITS, passed=answers):
            replies = [c for c in question.choices if true.admits(question.trait, c)]
            answers[question.trait] = data.draw(st.sampled_from(replies))
            left = remaining(entries, answers)
        assert true in left
        assert len(answers) <= len(TRAITS)
