"""Sites from pole to pole for comparisons."""

from tests.reference.test_sky_against_skyfield import SITES

from sidelight.sky.site import Site

EVERYWHERE = [
    *SITES,
    Site("Tasmania", -42.9, 147.3, 300.0, "Australia/Hobart"),
    Site("Patagonia", -53.2, -70.9, 30.0, "America/Punta_Arenas"),
    Site("Castile", 40.4, -3.7, 650.0, "Europe/Madrid"),
    Site("Hawaii", 19.8, -155.5, 4200.0, "Pacific/Honolulu"),
]
