"""Rig: optics, sensors, guider geometry, mount and flip, bench angles, detector photometry."""
