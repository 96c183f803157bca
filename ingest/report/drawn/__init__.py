"""How a report is drawn: on paper, for a screen, as data; and the digest that each of them carries of itself.

Invariant: what a person wrote is text in every form, and the same report gives the same bytes.
"""
