"""The air gap by harmonics, with the rotor centred or offset."""
