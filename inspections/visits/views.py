from django.shortcuts import render

from firm.people.capabilities import signed_in


@signed_in
def home(request):
    return render(request, "inspections/visits/home.html")
