import pytest
from django.db import IntegrityError

from api.tenancy.models import User


@pytest.mark.django_db
def test_one_person_has_one_account_however_the_address_is_written():
    User.objects.create_user("Ana@Example.org", "a long enough secret")
    with pytest.raises(IntegrityError):
        User.objects.create_user("ana@example.ORG", "another long secret")
