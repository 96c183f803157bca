"""Would the tests notice? `make mutants` changes the judging rooms in one place after the other, in a copy of the tree.

A changed module is a mutant. One under which a test fails is killed; one under which all still pass has survived, and
shows a line that no test holds. `making` makes them, `trying` runs the tests, `report` writes docs/mutants.md.
"""
