"""Units of other physics than simulators.unit: correlations in print, makers' normal pressures, published fault sizes.

Nothing is balanced here and no flow is computed. What a sound unit reads is linear in outdoor air and wet bulb; what a
fault does is a published share or a published sum, each with its source beside it. A judge that is right at both
families is right for another reason than that it knows how one of them was made.

Invariant: it shares nothing with simulators.unit and nothing with what judges (import contracts), and no refrigerant is
made or lost in it (tests/simulators/second_family/test_model.py).
"""
