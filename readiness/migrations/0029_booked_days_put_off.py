"""Booked days that are put off, and which booking has none since."""

import django.db.models.deletion
import readiness.rules.vocabulary
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0028_outlines_open_joints'),
    ]

    operations = [
        migrations.CreateModel(
            name='PutOff',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('day', models.DateField()),
                ('half', models.CharField(choices=[('morning', 'Morning'), ('afternoon', 'Afternoon')], max_length=10)),
                ('cause', models.CharField(choices=[('rain', 'Rain'), ('wind', 'Wind'), ('ours', 'We can’t come'), ('builder', 'The builder asked')], max_length=10)),
                ('note', models.TextField(blank=True)),
                ('put_off_at', models.DateTimeField()),
            ],
            options={
                'ordering': ['put_off_at', 'id'],
            },
        ),
        migrations.AddField(
            model_name='booking',
            name='put_off_at',
            field=models.DateTimeField(blank=True, help_text='When the booked day was put off, until another is asked for or offered.', null=True),
        ),
        migrations.AddConstraint(
            model_name='booking',
            constraint=models.CheckConstraint(condition=models.Q(('put_off_at', None), ('state__in', (readiness.rules.vocabulary.BookingState['ASKED'], readiness.rules.vocabulary.BookingState['CANCELLED'])), _connector='OR'), name='booking_put_off_without_day'),
        ),
        migrations.AddField(
            model_name='putoff',
            name='booking',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='put_offs', to='readiness.booking'),
        ),
        migrations.AddField(
            model_name='putoff',
            name='put_off_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
    ]
