"""Cutting load: materials, chip, force, torque, power, deflection and clamping, from what each motion takes off."""
