"""DEVELOPERS.md followed to the letter in a copy: it works, and what is forgotten is told.

Each recipe is done once as the guide has it; then the commands that it ends with must pass. Then
it is done again and again with one step left out: the test that the guide names must fail and say
what the guide says.
"""

import pytest

from tests.recipes.guide import Forgotten, Recipe, Step, WrongGuide, recipes
from tests.recipes.tree import PROJECT, Tree

RECIPES = recipes(PROJECT)

OMISSIONS = [
    pytest.param(recipe, step, forgotten, id=f"{recipe.name}-{step.number}-{forgotten.only}")
    for recipe in RECIPES
    for step in recipe.steps
    for forgotten in step.forgotten
]


@pytest.fixture
def tree(tmp_path):
    return Tree(tmp_path / "copy")


def test_the_guide_spells_out_what_is_added_most():
    assert {"A defect kind", "A rule value", "A reason", "A page", "An e-mail"} <= {
        recipe.name for recipe in RECIPES
    }


@pytest.mark.long
@pytest.mark.parametrize("recipe", RECIPES, ids=lambda recipe: recipe.name)
def test_a_recipe_that_is_followed_works(tree: Tree, recipe: Recipe):
    changed = set()
    for step in recipe.steps:
        tree.apply(step.hunks)
        changed |= {hunk.path for hunk in step.hunks}
    tree.bring_database()
    for command in recipe.commands:
        ran = tree.run("bash", "-c", command)
        assert ran.code == 0, f"{command}: {ran.text[-4000:]}"
    code = sorted(path for path in changed if path.endswith(".py"))
    for check in (["check"], ["format", "--check"]):
        ran = tree.run(".venv/bin/ruff", *check, *code)
        assert ran.code == 0, ran.text


@pytest.mark.long
@pytest.mark.parametrize(("recipe", "step", "forgotten"), OMISSIONS)
def test_what_is_forgotten_is_told(tree: Tree, recipe: Recipe, step: Step, forgotten: Forgotten):
    for other in recipe.steps:
        if other is not step:
            tree.apply(other.hunks)
        elif forgotten.only:
            shorter = [hunk.without(forgotten.only) for hunk in step.hunks]
            assert shorter != list(step.hunks), f"No added line has {forgotten.only}."
            tree.apply(shorter)
    ran = tree.test(forgotten.test)
    assert ran.code, "It passes all the same."
    assert "ERROR: not found" not in ran.text, "There is no such test."
    assert forgotten.says in ran.text


GOOD = """
## Adding things

### A thing

1. Its line.
   ```diff
   +++ a.py
    one
   -two
   +2
   @@
    three
   +
   +four
   ```
   Forgotten? `tests/t.py::test_a` says “no
   four”. Without `four`, `tests/t.py::test_b` says “3”.

```sh
true
```

## Tests
"""


def read(tmp_path, text):
    (tmp_path / "DEVELOPERS.md").write_text(text)
    return recipes(tmp_path)


def test_a_step_is_read_with_its_changes_and_what_tells_that_it_is_forgotten(tmp_path):
    (recipe,) = read(tmp_path, GOOD)
    (step,) = recipe.steps
    assert [(hunk.path, hunk.old, hunk.new) for hunk in step.hunks] == [
        ("a.py", "one\ntwo\n", "one\n2\n"),
        ("a.py", "three\n", "three\n\nfour\n"),
    ]
    assert step.forgotten == (
        Forgotten("", "tests/t.py::test_a", "no four"),
        Forgotten("four", "tests/t.py::test_b", "3"),
    )
    assert step.hunks[1].without("four").new == "three\n\n"
    assert recipe.commands == ("true",)


@pytest.mark.parametrize(
    ("text", "instead"),
    [
        ("   +++ a.py\n", ""),
        ("    one\n", "   one\n"),
        (" says “", " "),
        ("true\n", ""),
    ],
    ids=["no file", "no sign", "nothing tells", "no command"],
)
def test_a_guide_that_can_not_be_followed_is_refused(tmp_path, text, instead):
    assert text in GOOD
    with pytest.raises(WrongGuide):
        read(tmp_path, GOOD.replace(text, instead))


def test_a_place_that_moved_is_no_longer_found(tree):
    moved = recipes(PROJECT)[0].steps[0].hunks[0]
    path = tree.folder / moved.path
    path.write_text(path.read_text().replace(moved.old.splitlines()[-1], "# gone"))
    with pytest.raises(WrongGuide, match="stands 0 times"):
        tree.apply([moved])
