"""The physical constants that several stages compute with.

In: nothing. Out: numbers, with their units in their names.
"""

ZERO_CELSIUS_K = 273.15
"""0 °C in kelvin (exact, SI brochure, 9th edition, 2.3.1)."""
GAS_CONSTANT_J_MOL_K = 8.314462618
"""Molar gas constant, J/(mol K) (CODATA 2018, exact to the figures given)."""
GAS_CONSTANT_KJ_MOL_K = 8.314462618e-3
"""The same in the unit of activation energies, kJ/(mol K)."""
