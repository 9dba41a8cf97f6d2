/* SPDX-License-Identifier: MIT */
/* Runs two commands in turn and prints time and peak memory of each run: small itself, since exec keeps a parent's
 * peak. */
#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static int64_t now_ns(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

/* One run with its output thrown away; prints "NAME NANOSECONDS KIBIBYTES STATUS". */
static void run(const char *name, char **command)
{
    int64_t began_ns = now_ns();
    pid_t child = fork();
    if (child == 0) {
        int nowhere = open("/dev/null", O_RDWR);
        dup2(nowhere, STDIN_FILENO);
        dup2(nowhere, STDOUT_FILENO);
        dup2(nowhere, STDERR_FILENO);
        execvp(command[0], command);
        _exit(127);
    }
    int status = 0;
    struct rusage usage;
    while (wait4(child, &status, 0, &usage) < 0 && errno == EINTR)
        ;
    int64_t took_ns = now_ns() - began_ns;
    printf("%s %lld %ld %d\n", name, (long long)took_ns, usage.ru_maxrss, WIFEXITED(status) ? WEXITSTATUS(status) : -1);
    fflush(stdout);
}

/* measure TIMES COMMAND... -- COMMAND... */
int main(int argc, char **argv)
{
    int split = 2;
    while (split < argc && strcmp(argv[split], "--") != 0)
        split++;
    if (argc < 5 || split + 1 >= argc) {
        fprintf(stderr, "use: measure TIMES COMMAND... -- COMMAND...\n");
        return 64;
    }
    argv[split] = NULL;
    for (long left = strtol(argv[1], NULL, 10); left > 0; left--) {
        run("first", argv + 2);
        run("second", argv + split + 1);
    }
    return 0;
}
