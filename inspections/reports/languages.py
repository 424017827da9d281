"""The languages of the client's page, and the locale that Django shows dates and numbers in.

Mexican Spanish for numbers: people who read Spanish in the United States write 1,234.5 as the tape in their hand does.
"""

from inspections.reports.models import Language

LOCALES = {Language.ENGLISH: "en-us", Language.SPANISH: "es-mx"}
