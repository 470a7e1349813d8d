/* Starts tests/faults/server.py for a test and reads its log. Ends with the
 * test, however that ends: the server watches its standard input. */
#ifndef SUPPORT_FAULT_SERVER_H
#define SUPPORT_FAULT_SERVER_H

#include <cjson/cJSON.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>
#include <sys/wait.h>
#include <unistd.h>

struct fault_server {
    pid_t process;
    int to_server;
    int port;
    char log[512]; /* path of its log; in the folder given */
};

static inline void fault_server_run(int from_test, int to_test,
                                    const char *scenario, const char *folder,
                                    const char *log)
{
    dup2(from_test, STDIN_FILENO);
    dup2(to_test, STDOUT_FILENO);
    for (int fd = 3; fd < 256; fd++)
        close(fd);
    execlp("python3", "python3", PROJECT_DIR "/tests/faults/server.py",
           "--watch-stdin", "--scenario", scenario, "--folder", folder, "--log",
           log, (char *)NULL);
    _exit(127);
}

/* `folder` is where the log goes and where the scenario's files are. Returns
 * 0, or -1 if no server came up. */
static inline int fault_server_start(struct fault_server *server,
                                     const char *scenario, const char *folder)
{
    int to[2], from[2];
    char line[64] = "";
    FILE *words;

    snprintf(server->log, sizeof server->log, "%s/requests.log", folder);
    if (pipe(to) != 0 || pipe(from) != 0)
        return -1;
    server->process = fork();
    if (server->process == 0)
        fault_server_run(to[0], from[1], scenario, folder, server->log);
    close(to[0]);
    close(from[1]);
    server->to_server = to[1];
    words = fdopen(from[0], "r");
    if (words == NULL)
        return -1;
    if (fgets(line, sizeof line, words) == NULL)
        line[0] = '\0';
    fclose(words);
    server->port =
        strncmp(line, "port ", 5) == 0 ? (int)strtol(line + 5, NULL, 10) : 0;
    return server->process > 0 && server->port > 0 ? 0 : -1;
}

static inline void fault_server_stop(struct fault_server *server)
{
    int status;

    close(server->to_server);
    waitpid(server->process, &status, 0);
}

/* The n-th request (from 0; from the last: -1, -2 …) for a path, or NULL;
 * owned by the caller (cJSON_Delete). *count (may be NULL): how many. */
static inline cJSON *fault_server_request(const struct fault_server *server,
                                          const char *path, int n, int *count)
{
    static char line[400000];
    cJSON *found[256] = {NULL}, *result = NULL;
    FILE *log = fopen(server->log, "r");
    int seen = 0;

    while (log != NULL && fgets(line, sizeof line, log) != NULL) {
        cJSON *request = cJSON_Parse(line);
        const cJSON *asked = cJSON_GetObjectItem(request, "path");

        if (cJSON_IsString(asked) && strcmp(asked->valuestring, path) == 0 &&
            seen < 256)
            found[seen++] = request;
        else
            cJSON_Delete(request);
    }
    if (log != NULL)
        fclose(log);
    if (count != NULL)
        *count = seen;
    if (n < 0)
        n += seen;
    for (int i = 0; i < seen; i++)
        if (i == n)
            result = found[i];
        else
            cJSON_Delete(found[i]);
    return result;
}

static inline int fault_server_count(const struct fault_server *server,
                                     const char *path)
{
    int count = 0;

    cJSON_Delete(fault_server_request(server, path, 0, &count));
    return count;
}

#endif
