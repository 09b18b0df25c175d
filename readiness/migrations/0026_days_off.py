"""The days off that the business keeps beside the public holidays."""

import uuid
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0025_referrals'),
    ]

    operations = [
        migrations.CreateModel(
            name='DayOff',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('name', models.CharField(max_length=80)),
                ('repeats', models.CharField(choices=[('once', 'Once'), ('yearly', 'Every year, on the same dates'), ('weekday', 'Every year, on a weekday of a month')], max_length=8)),
                ('first_on', models.DateField(blank=True, null=True)),
                ('last_on', models.DateField(blank=True, null=True)),
                ('nth', models.PositiveSmallIntegerField(default=0, help_text='1 to 4; 5 is the last.')),
                ('weekday', models.PositiveSmallIntegerField(default=0, help_text='0 is Monday.')),
                ('month', models.PositiveSmallIntegerField(default=0)),
                ('postcodes', models.TextField(blank=True, help_text='Where it holds: postcodes and ranges. Empty: everywhere.')),
            ],
            options={
                'verbose_name_plural': 'days off',
                'ordering': ['name', 'id'],
                'constraints': [models.CheckConstraint(condition=models.Q(('repeats', 'weekday'), models.Q(('first_on__isnull', False), ('last_on__gte', models.F('first_on')), ('last_on__isnull', False)), _connector='OR'), name='day_off_has_dates'), models.CheckConstraint(condition=models.Q(models.Q(('repeats', 'weekday'), _negated=True), models.Q(('month__range', (1, 12)), ('nth__range', (1, 5)), ('weekday__range', (0, 6))), _connector='OR'), name='day_off_has_weekday')],
            },
        ),
    ]
