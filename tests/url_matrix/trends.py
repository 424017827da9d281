from tests.url_matrix import TREND_READERS, row

ROWS = {"trends": row(get=TREND_READERS), "trend-visits": row(get=TREND_READERS)}
