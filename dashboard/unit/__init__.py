"""The Unit page: what is known of the unit at work, and how it has gone over the years.

Invariant: nothing is fitted or foretold, each mark that is drawn is one reading with its ± (test_trends.py); and here
nothing is recorded but the answer to a lead's stop (test_unit_page.py).
"""
