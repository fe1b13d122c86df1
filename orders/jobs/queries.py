"""What is still under way in the background for something?"""

from orders.jobs.models import Job


def pending(kind, subject_ids):
    """The unfinished or dead job of each subject, by its id."""
    rows = Job.objects.filter(kind=kind, subject_id__in=subject_ids).exclude(state="done")
    return {job.subject_id: job for job in rows.order_by("pk")}
