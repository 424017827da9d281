from tests.url_matrix import TREND_READERS, row

ROWS = {
    "trends": row(get=TREND_READERS),
    "trends-changed": row(get=TREND_READERS),
    "trends-together": row(get=TREND_READERS),
    "trends-repaired": row(get=TREND_READERS),
    "trends-measured": row(get=TREND_READERS),
    "trends-alike": row(get=TREND_READERS),
    "trend-visits": row(get=TREND_READERS),
    "trend-figures": row(get=TREND_READERS),
    "trend-rows": row(get=TREND_READERS),
    "trend-view-save": row(post=TREND_READERS),
    "trend-view-remove": row(post=TREND_READERS),
    "trend-notice-read": row(post=TREND_READERS),
    "trend-summary-ask": row(post=TREND_READERS),
    "trend-summary": row(get=TREND_READERS),
    "trend-summary-pdf": row(get=TREND_READERS),
}
