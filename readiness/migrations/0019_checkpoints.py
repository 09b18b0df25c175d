"""Checkpoints over all Record entries: leaves, tiles, keys, timestamps; and the papers' own."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0018_keep_digests_of_rows'),
    ]

    operations = [
        migrations.CreateModel(
            name='Checkpoint',
            fields=[
                ('number', models.PositiveIntegerField(primary_key=True, serialize=False)),
                ('size', models.PositiveBigIntegerField(unique=True)),
                ('root', models.CharField(max_length=64)),
                ('made_at', models.DateTimeField()),
                ('portal', models.CharField(help_text="The portal's address, as it was signed.", max_length=300)),
                ('consistency', models.JSONField(default=list)),
                ('signature', models.CharField(help_text='In base64.', max_length=100)),
                ('reason', models.CharField(choices=[('daily', 'Daily'), ('issued', 'A report was issued'), ('confirmed', 'Readiness was confirmed'), ('treated', 'A treatment was recorded'), ('paper', 'For a paper'), ('command', 'By command')], max_length=10)),
                ('previous', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='next', to='readiness.checkpoint')),
            ],
            options={
                'ordering': ['number'],
            },
        ),
        migrations.CreateModel(
            name='Tile',
            fields=[
                ('number', models.PositiveBigIntegerField(primary_key=True, serialize=False)),
                ('root', models.CharField(max_length=64)),
            ],
            options={
                'ordering': ['number'],
            },
        ),
        migrations.AddField(
            model_name='paper',
            name='checkpoint',
            field=models.ForeignKey(blank=True, help_text='The one that it carries: kept, so that the paper made again is the same.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='papers', to='readiness.checkpoint'),
        ),
        migrations.CreateModel(
            name='Leaf',
            fields=[
                ('position', models.PositiveBigIntegerField(primary_key=True, serialize=False)),
                ('entry', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='leaf', to='readiness.recordentry')),
            ],
            options={
                'verbose_name_plural': 'leaves',
                'ordering': ['position'],
            },
        ),
        migrations.CreateModel(
            name='SigningKey',
            fields=[
                ('id', models.CharField(max_length=32, primary_key=True, serialize=False)),
                ('public', models.CharField(help_text='In base64.', max_length=80, unique=True)),
                ('since', models.DateTimeField()),
                ('portal', models.CharField(help_text="The portal's address at that time.", max_length=300)),
                ('endorsement', models.CharField(blank=True, help_text='In base64.', max_length=100)),
                ('replaces', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='replaced_by', to='readiness.signingkey')),
            ],
            options={
                'ordering': ['since'],
            },
        ),
        migrations.AddField(
            model_name='checkpoint',
            name='key',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='checkpoints', to='readiness.signingkey'),
        ),
        migrations.CreateModel(
            name='Timestamp',
            fields=[
                ('attempts', models.PositiveSmallIntegerField(default=0, help_text='Tries that were begun.')),
                ('next_try_at', models.DateTimeField(blank=True, null=True)),
                ('claimed_by', models.CharField(blank=True, help_text='The worker that is doing it now.', max_length=100)),
                ('started_at', models.DateTimeField(blank=True, help_text='When the latest try began.', null=True)),
                ('given_up_at', models.DateTimeField(blank=True, null=True)),
                ('error', models.TextField(blank=True, help_text='Why the latest try failed.')),
                ('checkpoint', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='timestamp', serialize=False, to='readiness.checkpoint')),
                ('state', models.CharField(choices=[('waiting', 'To be asked for'), ('asking', 'Being asked for'), ('made', 'Made'), ('given_up', 'Could not be had')], default='waiting', max_length=8)),
                ('asked_at', models.DateTimeField(help_text='Since when it is wanted.')),
                ('authority', models.CharField(blank=True, max_length=300)),
                ('answer', models.TextField(blank=True, help_text="The authority's whole answer: DER, in base64.")),
                ('stamped_at', models.DateTimeField(blank=True, help_text='As the authority says.', null=True)),
            ],
            options={
                'ordering': ['checkpoint'],
                'indexes': [models.Index(condition=models.Q(('state', 'waiting')), fields=['next_try_at'], name='timestamp_to_ask'), models.Index(condition=models.Q(('state', 'asking')), fields=['claimed_by'], name='timestamp_under_way'), models.Index(condition=models.Q(('state', 'given_up')), fields=['given_up_at'], name='timestamp_given_up')],
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('state', 'made'), ('stamped_at__isnull', False)), models.Q(models.Q(('state', 'made'), _negated=True), models.Q(('stamped_at__isnull', False), _negated=True)), _connector='OR'), name='timestamp_made_whole'), models.CheckConstraint(condition=models.Q(models.Q(('state', 'asking'), models.Q(('claimed_by', ''), _negated=True)), models.Q(models.Q(('state', 'asking'), _negated=True), ('claimed_by', '')), _connector='OR'), name='timestamp_asking_is_claimed'), models.CheckConstraint(condition=models.Q(models.Q(('state', 'given_up'), ('given_up_at__isnull', False)), models.Q(models.Q(('state', 'given_up'), _negated=True), models.Q(('given_up_at__isnull', False), _negated=True)), _connector='OR'), name='timestamp_given_up_has_time')],
            },
        ),
        migrations.AddConstraint(
            model_name='checkpoint',
            constraint=models.CheckConstraint(condition=models.Q(('size__gt', 0)), name='checkpoint_has_leaves'),
        ),
        migrations.AddConstraint(
            model_name='checkpoint',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('number', 1), ('previous', None)), models.Q(('number__gt', 1), ('previous__isnull', False)), _connector='OR'), name='checkpoint_follows_another'),
        ),
    ]
