"""What only a licensed technician decides: live termites, and walls that nobody can reach."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0023_memberships'),
    ]

    operations = [
        migrations.CreateModel(
            name='Referral',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('live_termites', 'Live termites'), ('no_access', 'Nobody can reach it')], max_length=16)),
                ('from_mm', models.PositiveIntegerField(blank=True, null=True, verbose_name='distance along the wall')),
                ('to_mm', models.PositiveIntegerField(blank=True, null=True, verbose_name='to')),
                ('cause', models.CharField(blank=True, choices=[('boundary', 'Boundary wall'), ('hidden', 'Hidden behind something fixed')], max_length=10)),
                ('note', models.TextField(blank=True)),
                ('noted_at', models.DateTimeField()),
            ],
            options={
                'ordering': ['noted_at', 'id'],
            },
        ),
        migrations.CreateModel(
            name='ReferralDecision',
            fields=[
                ('id', models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ('outcome', models.CharField(choices=[('treated_separately', 'Treated separately, go on'), ('not_termites', 'Not termites'), ('stays_closed', 'Site stays closed'), ('not_treated', 'Not treated: no access'), ('can_be_reached', 'It can be reached: treat it')], max_length=20)),
                ('reason', models.TextField()),
                ('name', models.CharField(max_length=120)),
                ('licence_number', models.CharField(max_length=60)),
                ('decided_at', models.DateTimeField()),
            ],
            options={
                'ordering': ['decided_at', 'id'],
            },
        ),
        migrations.RemoveConstraint(
            model_name='photo',
            name='photo_shows_one_thing',
        ),
        migrations.AddField(
            model_name='business',
            name='technician_name',
            field=models.CharField(blank=True, help_text='Whom to call about live termites.', max_length=120),
        ),
        migrations.AddField(
            model_name='business',
            name='technician_phone',
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name='referral',
            name='noted_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='referral',
            name='site',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='referrals', to='readiness.site'),
        ),
        migrations.AddField(
            model_name='referral',
            name='wall_run',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='referrals', to='readiness.wallrun'),
        ),
        migrations.AddField(
            model_name='photo',
            name='referral',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='readiness.referral'),
        ),
        migrations.AddField(
            model_name='referraldecision',
            name='decided_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='referraldecision',
            name='referral',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='decisions', to='readiness.referral'),
        ),
        migrations.AddField(
            model_name='referraldecision',
            name='supersedes',
            field=models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='superseded_by', to='readiness.referraldecision'),
        ),
        migrations.AddField(
            model_name='photo',
            name='referral_decision',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='readiness.referraldecision'),
        ),
        migrations.AddConstraint(
            model_name='photo',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('fix', None), ('referral', None), ('referral_decision', None), ('run_check', None)), models.Q(('item', None), ('referral', None), ('referral_decision', None), ('run_check', None)), models.Q(('fix', None), ('item', None), ('referral', None), ('referral_decision', None)), models.Q(('fix', None), ('item', None), ('referral_decision', None), ('run_check', None)), models.Q(('fix', None), ('item', None), ('referral', None), ('run_check', None)), _connector='OR'), name='photo_shows_one_thing'),
        ),
        migrations.AddConstraint(
            model_name='referral',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('cause', ''), ('kind', 'live_termites')), models.Q(('kind', 'no_access'), ('wall_run__isnull', False), models.Q(('cause', ''), _negated=True)), _connector='OR'), name='referral_fits_kind'),
        ),
        migrations.AddConstraint(
            model_name='referral',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('from_mm', None), ('to_mm', None)), models.Q(('from_mm__isnull', False), ('wall_run__isnull', False), models.Q(('to_mm', None), ('to_mm__gte', models.F('from_mm')), _connector='OR')), _connector='OR'), name='referral_extent_forwards'),
        ),
        migrations.AddConstraint(
            model_name='referral',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'no_access'), _negated=True), models.Q(('from_mm', None), ('to_mm', None)), models.Q(('from_mm__isnull', False), ('to_mm__gt', models.F('from_mm')), ('to_mm__isnull', False)), _connector='OR'), name='referral_stretch_whole'),
        ),
        migrations.AddConstraint(
            model_name='referraldecision',
            constraint=models.UniqueConstraint(condition=models.Q(('supersedes', None)), fields=('referral',), name='decision_one_first'),
        ),
        migrations.AddConstraint(
            model_name='referraldecision',
            constraint=models.UniqueConstraint(condition=models.Q(('outcome__in', ('treated_separately', 'not_termites'))), fields=('referral',), name='decision_one_opens'),
        ),
        migrations.AddConstraint(
            model_name='referraldecision',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('reason', ''), _negated=True), models.Q(('name', ''), _negated=True), models.Q(('licence_number', ''), _negated=True)), name='decision_whole'),
        ),
    ]
