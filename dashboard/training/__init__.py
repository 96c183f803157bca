"""The exercise on the bench: its panel and dialog, the verdict, and what came of it."""
