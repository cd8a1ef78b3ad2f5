"""What a question offers can be taken as it stands: it is understood, and the same question does not come back."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bathkeeper.cli.verbs.import_trace import Said
from bathkeeper.traces.reading import read_trace
from tests.traces.making import Case, answers, every

ASKING = [c for c in every() if c.ask]


@pytest.mark.parametrize("case", ASKING, ids=lambda c: c.name)
def test_every_choice_of_every_question_can_be_taken(case: Case) -> None:
    zone = None if "offset" in case.ask else answers({}).zone
    first = read_trace(lambda: iter([case.data]), replace(answers({}), zone=zone), file_name=case.name)
    for question in first.questions:
        for choice in question.choices:
            said = Said().with_words(choice.option).answers()
            again = read_trace(lambda: iter([case.data]), replace(said, zone=said.zone or zone), file_name=case.name)
            assert question.text not in {q.text for q in again.questions}, (question.text, choice)


def test_files_that_ask_were_looked_at() -> None:
    assert len(ASKING) > 25
