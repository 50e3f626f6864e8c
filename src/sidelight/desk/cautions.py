"""The usual cautions, once; every card and page that sends a person to the telescope shows those that apply.

Common practice, no source; the maker's manual and local rules come first, and the last line says so.
"""

SUN = (
    "Never point the telescope, its finder or the guide camera at the Sun; by day keep the caps on until the tube "
    "is turned away from it."
)
WEIGHT = (
    "Before you loosen a clamp, hold what it holds: tube and counterweights are heavy. Counterweights go on before "
    "the tube and come off after it, with the safety stop on the end of the shaft."
)
CABLES = (
    "Turn camera and guider with the cables loose, then move the mount by hand through the flip and watch that no "
    "cable pulls and nothing behind the telescope meets the pier or a tripod leg."
)
FLIP = (
    "Be at the telescope when the mount flips, or have its limits set and tried by day: tube, camera and cables "
    "must clear the pier on both sides."
)
DARK = "Before dark, clear the way to the telescope and mark tripod legs and cables; take a red light with you."
MANUAL = "The makers' manuals and local rules come before anything printed here."

BENCH = (SUN, WEIGHT, CABLES, MANUAL)
NIGHT = (FLIP, CABLES, DARK, SUN, MANUAL)
