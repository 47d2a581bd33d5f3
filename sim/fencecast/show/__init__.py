"""Pictures from a results file: one style for all, loaded when first used (matplotlib is slow to import).

Every `plot_*` draws what the `*_data` beside it returns, and nothing else.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach(
    __name__,
    submod_attrs={
        "aim.data": ["aim_data"],
        "aim.sheet": ["plot_aim"],
        "fence.plan": ["plot_plan"],
        "fence.strip": ["plot_fence_strip"],
        "fence.cause": ["plot_cause_strip"],
        "fence.data": ["cause_strip_data", "fence_strip_data", "plan_data"],
        "fence.summary": ["plot_summary"],
        "fence.profile": ["plot_profile"],
        "fence.profiledata": ["profile_data"],
        "fence.sensitivity": ["plot_sensitivity"],
        "fence.sheetdata": ["sensitivity_data", "summary_data"],
        "fence.check": ["plot_check"],
        "fence.checkdata": ["check_data"],
        "fence.comparison": ["plot_comparison"],
        "fence.comparisondata": ["comparison_data"],
        "fence.walkband": ["plot_fence_band"],
        "fence.walkbanddata": ["fence_band_data"],
        "fence.loss": ["plot_worst_loss"],
        "fence.lossdata": ["worst_loss_data"],
        "look.distance": ["plot_comparison_distance", "plot_distance"],
        "look.onelook": ["plot_one_look"],
        "look.view": ["plot_view"],
        "look.data": ["comparison_distance_data", "distance_data", "one_look_data", "view_data"],
        "year.weathersummary": ["plot_weather"],
        "year.carpet": ["plot_year_carpet"],
        "year.opticalrange": ["plot_optical_range"],
        "year.data": ["optical_range_data", "weather_data", "year_carpet_data"],
        "nuisance.data": ["nuisance_data", "nuisance_plan_data"],
        "nuisance.nights": ["plot_nuisance"],
        "nuisance.plan": ["plot_nuisance_plan"],
        "study.costfront": ["plot_cost_front"],
        "study.differences": ["plot_study_differences"],
        "study.front": ["plot_study_front"],
        "study.ranks": ["plot_study_ranks"],
        "study.data": ["cost_front_data", "study_differences_data", "study_front_data", "study_ranks_data"],
        "tradeoff.data": ["tradeoff_data"],
        "tradeoff.picture": ["plot_tradeoff"],
        "write": ["write_pictures"],
        "paper.page": ["save_picture"],
    },
)
