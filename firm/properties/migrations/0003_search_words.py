from django.db import migrations

from firm.clients.keys import address_key, digits, words_key

A_TIME = 2000


def fill_in(apps, schema_editor):
    house = apps.get_model("properties", "Property")
    addresses = {}
    waiting = []
    for one in house.objects.order_by("pk").iterator(chunk_size=A_TIME):
        one.search_text = address_key(one.street, one.town, one.county, one.region, one.postcode)
        addresses.setdefault(one.client_id, []).append(one.search_text)
        waiting.append(one)
        if len(waiting) == A_TIME:
            house.objects.bulk_update(waiting, ["search_text"])
            waiting = []
    house.objects.bulk_update(waiting, ["search_text"])
    client = apps.get_model("clients", "Client")
    waiting = []
    for one in client.objects.order_by("pk").iterator(chunk_size=A_TIME):
        one.search_text = words_key(one.name, one.email, digits(one.phone))
        one.search_all = f" {' '.join([one.search_text, *addresses.get(one.pk, ())])} "
        waiting.append(one)
        if len(waiting) == A_TIME:
            client.objects.bulk_update(waiting, ["search_text", "search_all"])
            waiting = []
    client.objects.bulk_update(waiting, ["search_text", "search_all"])


class Migration(migrations.Migration):
    dependencies = [("properties", "0002_coordinates_and_rule_set"), ("clients", "0002_search_words_with_houses")]

    operations = [migrations.RunPython(fill_in, migrations.RunPython.noop)]
