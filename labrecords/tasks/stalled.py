"""Jobs whose worker ended in the middle of them are done again; each of ours may be done twice."""

from procrastinate.contrib.django import app


@app.periodic(cron="* * * * *")
@app.task(name="do again what a worker left", pass_context=False)
async def again(timestamp: int) -> None:  # noqa: ARG001 - a periodic job is given the moment
    """Put back the jobs of workers that have not been heard of for half a minute."""
    for job in await app.job_manager.get_stalled_jobs(seconds_since_heartbeat=30):
        await app.job_manager.retry_job(job)
