"""The pages, each put together from components."""
