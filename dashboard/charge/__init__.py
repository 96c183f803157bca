"""The Charge page: its layout, what happens when it is touched, and what runs in the browser."""
