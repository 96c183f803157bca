"""What happens when a person touches something. Nothing here moves by itself."""
