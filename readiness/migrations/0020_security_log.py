"""The security log, apart from the sites' Records."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0019_checkpoints'),
    ]

    operations = [
        migrations.CreateModel(
            name='SecurityEvent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField(db_index=True)),
                ('kind', models.CharField(max_length=24)),
                ('account', models.UUIDField(blank=True, help_text='Who did it, where that is known.', null=True)),
                ('about', models.UUIDField(blank=True, help_text='The account that it was done to.', null=True)),
                ('email', models.CharField(blank=True, help_text='What was typed, where no account has it.', max_length=254)),
                ('address', models.GenericIPAddressField(blank=True, null=True)),
                ('device', models.CharField(blank=True, max_length=60)),
                ('details', models.JSONField(blank=True, default=dict)),
            ],
            options={
                'ordering': ['-at', '-id'],
                'indexes': [models.Index(fields=['account', 'at'], name='security_by_account'), models.Index(fields=['about', 'at'], name='security_by_about')],
            },
        ),
    ]
