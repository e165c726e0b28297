"""What the property tests draw from."""

from hypothesis import strategies as st

LEVELS = st.floats(min_value=-60, max_value=150)
SHARES = st.floats(min_value=0, max_value=1)
WATTS = st.floats(min_value=0, max_value=20_000)
TEMPERATURES_C = st.floats(min_value=-20, max_value=60)
FLOWS_M3_S = st.floats(min_value=0.001, max_value=3)
AREAS_M2 = st.floats(min_value=0.001, max_value=500)
LOSSES_DB = st.floats(min_value=0, max_value=80)
SPECTRA = st.tuples(*[st.floats(min_value=-20, max_value=120)] * 8)
RATIOS = st.floats(min_value=0.02, max_value=50)
BAND = st.integers(min_value=0, max_value=7)
