"""Parts of the page: pure functions from what is known to Dash components."""
