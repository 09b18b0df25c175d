"""One account may belong to several builders; those that are there keep their name in the Record."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0022_begin_digests'),
    ]

    operations = [
        migrations.AddField(
            model_name='buildercontact',
            name='number',
            field=models.PositiveSmallIntegerField(default=1, editable=False, help_text="Of the person's memberships; names it in the Record."),
        ),
        migrations.AlterField(
            model_name='buildercontact',
            name='user',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='memberships', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddConstraint(
            model_name='buildercontact',
            constraint=models.UniqueConstraint(fields=('user', 'builder'), name='contact_once_a_builder'),
        ),
        migrations.AddConstraint(
            model_name='buildercontact',
            constraint=models.UniqueConstraint(fields=('user', 'number'), name='contact_number_once'),
        ),
    ]
