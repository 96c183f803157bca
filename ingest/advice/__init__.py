"""From calc's judgement to words and messages."""
