from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('readiness', '0004_bring_waiting_along'),
    ]

    operations = [
        migrations.RemoveField(
            model_name='invitation',
            name='email_error',
        ),
        migrations.RemoveField(
            model_name='invitation',
            name='emailed_at',
        ),
        migrations.AddIndex(
            model_name='message',
            index=models.Index(condition=models.Q(('state', 'waiting')), fields=['next_try_at'], name='message_to_send'),
        ),
        migrations.AddIndex(
            model_name='message',
            index=models.Index(condition=models.Q(('state', 'held')), fields=['next_try_at'], name='message_held'),
        ),
        migrations.AddIndex(
            model_name='message',
            index=models.Index(condition=models.Q(('state', 'sending')), fields=['claimed_by'], name='message_under_way'),
        ),
        migrations.AddIndex(
            model_name='message',
            index=models.Index(condition=models.Q(('state', 'given_up')), fields=['given_up_at'], name='message_given_up'),
        ),
        migrations.AddIndex(
            model_name='message',
            index=models.Index(fields=['about'], name='message_about'),
        ),
        migrations.AddIndex(
            model_name='original',
            index=models.Index(condition=models.Q(('deleted_at', None), ('sizes_made_at', None)), fields=['sizes_next_try_at'], name='original_without_sizes'),
        ),
        migrations.AddIndex(
            model_name='paper',
            index=models.Index(condition=models.Q(('state', 'queued')), fields=['next_try_at'], name='paper_to_make'),
        ),
        migrations.AddIndex(
            model_name='paper',
            index=models.Index(condition=models.Q(('state', 'making')), fields=['claimed_by'], name='paper_under_way'),
        ),
        migrations.AddIndex(
            model_name='paper',
            index=models.Index(condition=models.Q(('state', 'failed')), fields=['given_up_at'], name='paper_given_up'),
        ),
        migrations.AddConstraint(
            model_name='message',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('invitation', None), ('to__isnull', False)), models.Q(('invitation__isnull', False), ('to', None)), _connector='OR'), name='message_has_one_address'),
        ),
        migrations.AddConstraint(
            model_name='message',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'sent'), ('sent_at__isnull', False)), models.Q(models.Q(('state', 'sent'), _negated=True), models.Q(('sent_at__isnull', False), _negated=True)), _connector='OR'), name='message_sent_has_time'),
        ),
        migrations.AddConstraint(
            model_name='message',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'given_up'), ('given_up_at__isnull', False)), models.Q(models.Q(('state', 'given_up'), _negated=True), models.Q(('given_up_at__isnull', False), _negated=True)), _connector='OR'), name='message_given_up_has_time'),
        ),
        migrations.AddConstraint(
            model_name='message',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'sending'), models.Q(('claimed_by', ''), _negated=True)), models.Q(models.Q(('state', 'sending'), _negated=True), ('claimed_by', '')), _connector='OR'), name='message_sending_is_claimed'),
        ),
        migrations.AddConstraint(
            model_name='paper',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'making'), models.Q(('claimed_by', ''), _negated=True)), models.Q(models.Q(('state', 'making'), _negated=True), ('claimed_by', '')), _connector='OR'), name='paper_making_is_claimed'),
        ),
        migrations.AddConstraint(
            model_name='paper',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'failed'), ('given_up_at__isnull', False)), models.Q(models.Q(('state', 'failed'), _negated=True), models.Q(('given_up_at__isnull', False), _negated=True)), _connector='OR'), name='paper_failed_has_time'),
        ),
    ]
