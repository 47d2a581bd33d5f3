"""The public names, once: `__init__.py` loads each from here when it is first used, and type checkers read the same list."""

from .decide.compare.designs import compare as compare
from .decide.compare.variants import Variant as Variant
from .decide.compare.variants import file_variants as file_variants
from .decide.compare.variants import lens_variants as lens_variants
from .decide.compare.variants import table_variants as table_variants
from .decide.losses import lose_each as lose_each
from .decide.place.proposal import Proposal as Proposal
from .decide.place.proposal import place as place
from .decide.remedy import Remedy as Remedy
from .decide.remedy import remedy as remedy
from .decide.study.file import Study as Study
from .decide.study.file import load_study as load_study
from .decide.study.running import study as study
from .decide.study.strategies import STRATEGIES as STRATEGIES
from .errors import FencecastError as FencecastError
from .errors import InputError as InputError
from .errors import UsageError as UsageError
from .estimate.results import Results as Results
from .estimate.store import open_results as open_results
from .estimate.store import save_results as save_results
from .evidence.catalogue import verify as verify
from .job import run as run
from .lensranges import ranges as ranges
from .meteorology.load import weather as weather
from .onelook.explanation import explain as explain
from .onelook.frames import ViewFrame as ViewFrame
from .onelook.frames import view as view
from .show import plot_cause_strip as plot_cause_strip
from .show import plot_comparison as plot_comparison
from .show import plot_distance as plot_distance
from .show import plot_fence_strip as plot_fence_strip
from .show import plot_one_look as plot_one_look
from .show import plot_optical_range as plot_optical_range
from .show import plot_plan as plot_plan
from .show import plot_sensitivity as plot_sensitivity
from .show import plot_summary as plot_summary
from .show import plot_view as plot_view
from .show import plot_weather as plot_weather
from .show import plot_year_carpet as plot_year_carpet
from .site import Site as Site
from .site import load_site as load_site
from .site import parse_site as parse_site
from .site import without_cameras as without_cameras

__version__: str
