"""Names as people type them."""

from hypothesis import strategies as st

catalogue_numbers = st.one_of(
    st.tuples(st.just("ngc"), st.integers(1, 7840)),
    st.tuples(st.just("ic"), st.integers(1, 5386)),
    st.tuples(st.just("m"), st.integers(1, 110)),
)


@st.composite
def typed_names(draw: st.DrawFn) -> tuple[str, str]:
    """Draw (plain name, the same as somebody may type it): case, spaces, zeros and signs vary."""
    catalogue, number = draw(catalogue_numbers)
    word = draw(st.sampled_from({"ngc": ["ngc", "n"], "ic": ["ic", "i"], "m": ["m", "messier"]}[catalogue]))
    letters = "".join(draw(st.sampled_from([letter.lower(), letter.upper()])) for letter in word)
    between = draw(st.sampled_from(["", " ", "  ", "-", "_", ". ", "\t"]))
    zeros = "0" * draw(st.integers(0, 3))
    around = draw(st.sampled_from(["", " "]))
    return f"{catalogue.upper()} {number}", f"{around}{letters}{between}{zeros}{number}{around}"
