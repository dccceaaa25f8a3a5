/* Preloaded by a test: counts what the process asks the disk to do, and at a given step kills it, half a write written. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <signal.h>
#include <stdio.h>
#include <sys/types.h>
#include <unistd.h>

static long left = -1;

void kill_at_step(long step) { left = step; }

static int is_the_step(void) { return left > 0 && --left == 0; }

static void die(void) {
    kill(getpid(), SIGKILL);
    for (;;)
        pause();
}

#define NEXT(type, name) ((type)dlsym(RTLD_NEXT, #name))

ssize_t write(int file, const void *data, size_t size) {
    ssize_t (*real)(int, const void *, size_t) = NEXT(ssize_t(*)(int, const void *, size_t), write);
    if (is_the_step()) {
        real(file, data, size / 2);
        die();
    }
    return real(file, data, size);
}

#define PWRITE(name, offset_type)                                                                                     \
    ssize_t name(int file, const void *data, size_t size, offset_type at) {                                           \
        ssize_t (*real)(int, const void *, size_t, offset_type) =                                                     \
            NEXT(ssize_t(*)(int, const void *, size_t, offset_type), name);                                           \
        if (is_the_step()) {                                                                                          \
            real(file, data, size / 2, at);                                                                           \
            die();                                                                                                    \
        }                                                                                                             \
        return real(file, data, size, at);                                                                            \
    }
PWRITE(pwrite, off_t)
PWRITE(pwrite64, off64_t)

#define BEFORE(name, parameters, arguments)                                                                           \
    int name parameters {                                                                                             \
        if (is_the_step())                                                                                            \
            die();                                                                                                    \
        return NEXT(int(*) parameters, name) arguments;                                                               \
    }
BEFORE(fsync, (int file), (file))
BEFORE(fdatasync, (int file), (file))
BEFORE(ftruncate, (int file, off_t size), (file, size))
BEFORE(ftruncate64, (int file, off64_t size), (file, size))
BEFORE(rename, (const char *from, const char *to), (from, to))
BEFORE(unlink, (const char *path), (path))
