/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/threads.h"

#include <pthread.h>
#include <unistd.h>

enum {
    MOST_THREADS = 64
};

typedef struct run {
    pthread_mutex_t lock;
    efi_thread_job *job;
    void *context;
    int count;
    int next;         /* first index not yet handed out */
    int failed_index; /* lowest index that failed; count when none */
    ef_status status; /* what it returned */
} run;

/* The next index to do, or -1 when there is none or a lower one has failed. */
static int take(run *all)
{
    pthread_mutex_lock(&all->lock);
    const int index = all->next < all->count && all->next < all->failed_index ? all->next++ : -1;
    pthread_mutex_unlock(&all->lock);
    return index;
}

static void note_failure(run *all, int index, ef_status status)
{
    pthread_mutex_lock(&all->lock);
    if (index < all->failed_index) {
        all->failed_index = index;
        all->status = status;
    }
    pthread_mutex_unlock(&all->lock);
}

static void *work(void *argument)
{
    run *all = argument;
    for (int index = take(all); index >= 0; index = take(all)) {
        const ef_status status = all->job(all->context, index);
        if (status != EF_OK)
            note_failure(all, index, status);
    }
    return NULL;
}

ef_status efi_threads_run(int threads, int count, efi_thread_job *job, void *context)
{
    run all = {.job = job, .context = context, .count = count, .failed_index = count, .status = EF_OK};
    if (pthread_mutex_init(&all.lock, NULL) != 0)
        return EF_MEMORY;
    pthread_t helper[MOST_THREADS];
    int wanted = threads < count ? threads - 1 : count - 1;
    if (wanted > MOST_THREADS)
        wanted = MOST_THREADS;
    int started = 0;
    while (started < wanted && pthread_create(&helper[started], NULL, work, &all) == 0)
        started++;
    work(&all);
    for (int i = 0; i < started; i++)
        pthread_join(helper[i], NULL);
    pthread_mutex_destroy(&all.lock);
    return all.status;
}

int efi_threads_available(void)
{
    const long online = sysconf(_SC_NPROCESSORS_ONLN);
    if (online < 1)
        return 1;
    return online > MOST_THREADS ? MOST_THREADS : (int)online;
}
