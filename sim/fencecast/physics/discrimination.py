"""From resolved cycles to a probability, from looks to an alarm: the small closed forms of the decision."""

import math

from fencecast.jit import compiled, compiled_inline
from fencecast.physics.detector import normal_cdf
from fencecast.physics.exponential import exponential, logarithm


@compiled_inline
def discrimination_exponent(cycles_ratio):
    """E = 2.7 + 0.7 x of `discrimination_probability`."""
    return 2.7 + 0.7 * cycles_ratio


@compiled_inline
def log_odds(cycles_ratio):
    """E ln x, the log-odds of `discrimination_probability`; x > 0."""
    return discrimination_exponent(cycles_ratio) * logarithm(cycles_ratio)


@compiled
def discrimination_probability(cycles_ratio):
    """P(x) = x^E / (1 + x^E), E = 2.7 + 0.7 x, x = N / N50 >= 0.

    cycles_ratio [-]: resolved cycles over those of the 50 % point, scalar; zero or less gives 0. The target transfer probability
    function of human observers (published values, not checked against the original), standing in for analytics until walk tests
    calibrate it. Check: test_discrimination.py. P(0.5) 0.108, P(1) 0.5, P(1.75) 0.900, P(2) 0.945.
    """
    if cycles_ratio <= 0.0:
        return 0.0
    return 1.0 / (1.0 + math.exp(-log_odds(cycles_ratio)))


@compiled
def discrimination_ratio(probability):
    """Inverse of `discrimination_probability`: the N / N50 that gives it. Bisection in log x to 1e-12; 0 < P < 1."""
    low, high = -12.0, 5.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        if discrimination_probability(math.exp(middle)) < probability:
            low = middle
        else:
            high = middle
    return math.exp(0.5 * (low + high))


@compiled
def resolved_cycles(area_px, seen_share):
    """N = 0.5 sqrt(A q): Johnson's cycles on the critical dimension sqrt(H W), reduced to the share q that is seen."""
    return 0.5 * math.sqrt(max(area_px * seen_share, 0.0))


# Phi^-1(1 / (1 + e^-w)) = w P(w^2) / Q(w^2), fitted for this project by weighted least squares on Chebyshev nodes of 0 < w < 22.
_P = (0.626656930626, 0.0890785935949, 0.00378157286623, 5.53529685327e-05, 2.60170105878e-07, 3.17892922048e-10,
      5.33206465475e-14)  # fmt: skip
_Q = (1.0, 0.160031860118, 0.00793016420667, 0.000141055643628, 8.485661553e-07, 1.44772402423e-09, 4.38825980364e-13)
_P0, _P1, _P2, _P3, _P4, _P5, _P6 = _P
_Q0, _Q1, _Q2, _Q3, _Q4, _Q5, _Q6 = _Q


@compiled_inline
def score_of_log_odds(w):
    """Phi^-1(1 / (1 + e^-w)), the normal score of an encounter's threshold, error under 5e-8 for |w| <= 22.

    Check: scipy's normal quantile of the logistic function.
    """
    y = w * w
    numerator = _P0 + y * (_P1 + y * (_P2 + y * (_P3 + y * (_P4 + y * (_P5 + y * _P6)))))
    denominator = _Q0 + y * (_Q1 + y * (_Q2 + y * (_Q3 + y * (_Q4 + y * (_Q5 + y * _Q6)))))
    return w * numerator / denominator


@compiled
def normal_quantile(p):
    """Phi^-1(p) for 0 < p < 1, error under 1e-13, absolute and relative, the larger one (-inf and inf at 0 and 1).

    Start: the score of the log-odds (error 5e-8), and past odds of 3.6e9 Abramowitz & Stegun 26.2.23 (error 4.5e-4); then one or
    two Halley steps on Phi. Check: scipy.special.ndtri.
    """
    if p <= 0.0:
        return -math.inf
    if p >= 1.0:
        return math.inf
    tail = p if p < 0.5 else 1.0 - p
    if tail > 3.0e-10:
        x, steps = -score_of_log_odds(logarithm(tail / (1.0 - tail))), 1
    else:
        t = math.sqrt(-2.0 * math.log(tail))
        x = t - (2.515517 + 0.802853 * t + 0.010328 * t * t) / (1.0 + 1.432788 * t + 0.189269 * t * t + 0.001308 * t**3)
        steps = 2
    for _ in range(steps):
        # upper tail: Q(x) = tail
        error = (0.5 * math.erfc(x * 0.7071067811865476) - tail) * 2.5066282746310002 * exponential(0.5 * x * x)
        x += error / (1.0 - 0.5 * x * error)
    return -x if p < 0.5 else x


@compiled
def noise_alarm_probability(pixels, min_pixels, threshold_sigma):
    """p_w: chance that at least `min_pixels` of `pixels` pixels of pure noise pass the threshold, each with Q(k).

    Exact binomial upper tail, summed from its largest term so that 1e-30 keeps its digits.
    """
    q = normal_cdf(-threshold_sigma)
    if q <= 0.0:
        return 0.0
    log_q, log_p = math.log(q), math.log1p(-q)
    total = 0.0
    for j in range(min_pixels, pixels + 1):
        log_term = math.lgamma(pixels + 1.0) - math.lgamma(j + 1.0) - math.lgamma(pixels - j + 1.0) + j * log_q
        total += math.exp(log_term + (pixels - j) * log_p)
    return min(total, 1.0)


@compiled
def noise_alarms_per_day(frame_pixels, looks_per_s, min_pixels, threshold_sigma, confirm_m, confirm_n):
    """Alarms per camera-day from sensor noise alone: no animals, no weather.

    windows = frame pixels / 64; rate = windows looks/day C(n-1, m-1) p_w^m (1 - p_w)^(n-m+1).
    """
    p_w = noise_alarm_probability(64, min_pixels, threshold_sigma)
    choose = math.exp(math.lgamma(confirm_n) - math.lgamma(confirm_m) - math.lgamma(confirm_n - confirm_m + 1.0))
    looks_per_day = looks_per_s * 86400.0
    return frame_pixels / 64.0 * looks_per_day * choose * p_w**confirm_m * (1.0 - p_w) ** (confirm_n - confirm_m + 1)
