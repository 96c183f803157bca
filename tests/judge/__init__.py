"""How good is the judge? Measured on simulated units that it knows nothing of, beside what is published."""
