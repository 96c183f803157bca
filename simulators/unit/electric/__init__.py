"""The electrical side of a unit: supply, joints, contactor, capacitors and motors, solved as one network of phasors.

Voltages are phasors against earth [V], at one frequency. What an instrument finds between any two points follows from
the network; nothing here knows what a probe or a page is.
"""
