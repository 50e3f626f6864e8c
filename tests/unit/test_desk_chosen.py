"""Which targets a person names."""

import pytest

from sidelight.desk.chosen import chosen_targets
from sidelight.ground.errors import BadInput
from sidelight.notebook.read import Notebook


@pytest.mark.parametrize(
    ("name", "key"),
    [("M96", "M 96"), ("m  96", "M 96"), ("NGC 3368", "M 96"), ("NGC2903", "NGC 2903"), ("Bode's Galaxy", "M 81")],
)
def test_capitals_spaces_and_other_names_of_an_object_lead_to_the_target(book: Notebook, name: str, key: str) -> None:
    """A target is found however its name, or its object's other name, is written."""
    assert [target.key for target in chosen_targets(book, (name,))] == [key]
    assert key not in {target.key for target in chosen_targets(book, (), (name,))}


def test_an_object_that_is_not_on_the_list_is_not_taken_for_another(book: Notebook) -> None:
    """A known object is said to be missing, with how to add it; no other target is guessed."""
    with pytest.raises(BadInput) as refused:
        chosen_targets(book, ("NGC 5194",))
    problem = refused.value.problems[0]
    assert "not on this notebook's list" in problem.message
    assert problem.suggestion is not None
    assert 'It is M 51. To add it, write [[target]] and name = "M 51"' in problem.suggestion


def test_a_slip_of_the_pen_gets_the_nearest_name_of_the_list(book: Notebook) -> None:
    """What no object is called leads to near misses on the list."""
    with pytest.raises(BadInput, match='Did you mean "NGC 2903"'):
        chosen_targets(book, ("NGC 29033",))
