"""Pictures from a results file: one style for all, loaded when first used (matplotlib is slow to import)."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach(
    __name__,
    submod_attrs={
        "fence.plan": ["plot_plan"],
        "fence.strip": ["plot_fence_strip"],
        "fence.cause": ["plot_cause_strip"],
        "fence.summary": ["plot_summary"],
        "fence.sensitivity": ["plot_sensitivity"],
        "fence.comparison": ["plot_comparison"],
        "fence.loss": ["plot_worst_loss"],
        "look.distance": ["plot_distance"],
        "look.comparisoncurves": ["plot_comparison_distance"],
        "look.onelook": ["plot_one_look"],
        "look.view": ["plot_view"],
        "year.weathersummary": ["plot_weather"],
        "year.carpet": ["plot_year_carpet"],
        "year.opticalrange": ["plot_optical_range"],
        "write": ["write_pictures"],
        "paper.page": ["save_picture"],
    },
)
