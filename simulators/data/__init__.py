"""Tables of refrigerant properties, made by `python -m simulators.data.build_properties`."""
