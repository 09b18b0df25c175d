from django.conf import settings
from django.db import migrations, models
import django.db.models.deletion


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0002_last_done'),
    ]

    operations = [
        migrations.CreateModel(
            name='InvitationLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token_digest', models.CharField(max_length=64, unique=True)),
                ('made_at', models.DateTimeField()),
            ],
        ),
        migrations.AddField(
            model_name='message',
            name='attempts',
            field=models.PositiveSmallIntegerField(default=0, help_text='Tries that were begun.'),
        ),
        migrations.AddField(
            model_name='message',
            name='claimed_by',
            field=models.CharField(blank=True, help_text='The worker that is doing it now.', max_length=100),
        ),
        migrations.AddField(
            model_name='message',
            name='given_up_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='message',
            name='handed_over_at',
            field=models.DateTimeField(blank=True, help_text='When the latest try gave the text to the mail server.', null=True),
        ),
        migrations.AddField(
            model_name='message',
            name='invitation',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='messages', to='readiness.invitation'),
        ),
        migrations.AddField(
            model_name='message',
            name='next_try_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='message',
            name='started_at',
            field=models.DateTimeField(blank=True, help_text='When the latest try began.', null=True),
        ),
        migrations.AddField(
            model_name='message',
            name='state',
            field=models.CharField(choices=[('held', 'Waits for the papers'), ('waiting', 'Waiting'), ('sending', 'Being sent'), ('sent', 'Sent'), ('given_up', 'Not sent'), ('dropped', 'Not needed any more')], default='waiting', max_length=8),
        ),
        migrations.AddField(
            model_name='message',
            name='unsure',
            field=models.PositiveSmallIntegerField(default=0, help_text='Tries of which nobody knows whether the e-mail left.'),
        ),
        migrations.AddField(
            model_name='original',
            name='sizes_attempts',
            field=models.PositiveSmallIntegerField(default=0),
        ),
        migrations.AddField(
            model_name='original',
            name='sizes_given_up_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='original',
            name='sizes_next_try_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='paper',
            name='claimed_by',
            field=models.CharField(blank=True, help_text='The worker that is doing it now.', max_length=100),
        ),
        migrations.AddField(
            model_name='paper',
            name='given_up_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='paper',
            name='next_try_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AlterField(
            model_name='invitation',
            name='token_digest',
            field=models.CharField(help_text='Of the link that was shown on the screen.', max_length=64, unique=True),
        ),
        migrations.AlterField(
            model_name='message',
            name='error',
            field=models.TextField(blank=True, help_text='Why the latest try failed.'),
        ),
        migrations.AlterField(
            model_name='message',
            name='site',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='messages', to='readiness.site'),
        ),
        migrations.AlterField(
            model_name='message',
            name='to',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='messages', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AlterField(
            model_name='paper',
            name='attempts',
            field=models.PositiveSmallIntegerField(default=0, help_text='Tries that were begun.'),
        ),
        migrations.AlterField(
            model_name='paper',
            name='error',
            field=models.TextField(blank=True, help_text='Why the latest try failed.'),
        ),
        migrations.AlterField(
            model_name='paper',
            name='started_at',
            field=models.DateTimeField(blank=True, help_text='When the latest try began.', null=True),
        ),
        migrations.AddField(
            model_name='invitationlink',
            name='invitation',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='links', to='readiness.invitation'),
        ),
    ]
