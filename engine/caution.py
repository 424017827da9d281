"""What stands beside every verdict, in plain words."""

CAUTION = (
    "This rests on what could be seen and was measured on the day. Concealed conditions are not covered. The rules of"
    " the local building authority govern. Repairs of structural parts need a permit and licensed practice where local"
    " law says so. The calculation supports the inspector's judgement and does not replace a licensed design"
    " professional. Where a value lies outside what a formula or table covers, the answer is to find out, not a number."
)
