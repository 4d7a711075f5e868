"""Conditions to pH at temperature, ionisation, silica bound, volumes and hazards; imports no other stage."""
