// A library that is loaded before the program (LD_PRELOAD) and makes one of its calls fail:
//
//   LOWHISS_FAULT="CALL N WHAT"   the Nth CALL after main began, and for errors all later ones
//   LOWHISS_FAULT_MARK=FILE       is created when that happens
//
// CALL is mkstemp, write, fsync, fchmod, close, rename, read or malloc. WHAT is the name of an
// error that it returns; "once ENOMEM" lets later calls succeed again; KILL or INT is a signal that
// is sent when half of the call is done.

#include <dlfcn.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>

extern "C" void* __libc_malloc(std::size_t size);

namespace {

// Plain data: nothing here may allocate, not even before main.
char call_name[16];
char what[16];
long wanted = 0;
bool only_once = false;
std::atomic<bool> armed{false};
std::atomic<long> calls{0};

void leave_mark() {
    const char* const path = std::getenv("LOWHISS_FAULT_MARK");
    if (path == nullptr) return;
    const long file = syscall(SYS_openat, AT_FDCWD, path, O_WRONLY | O_CREAT, 0600);
    if (file >= 0) syscall(SYS_close, file);
}

/// Whether this call is to fail.
bool strikes(const char* name) {
    if (!armed || std::strcmp(name, call_name) != 0) return false;
    const long number = ++calls;
    if (number < wanted || (only_once && number > wanted)) return false;
    leave_mark();
    return true;
}

int error_number() {
    if (std::strcmp(what, "ENOSPC") == 0) return ENOSPC;
    if (std::strcmp(what, "EIO") == 0) return EIO;
    if (std::strcmp(what, "EROFS") == 0) return EROFS;
    return ENOMEM;
}

/// Sends the signal, if that is what was asked for.
bool signals() {
    if (std::strcmp(what, "KILL") == 0) return std::raise(SIGKILL), true;
    if (std::strcmp(what, "INT") == 0) return std::raise(SIGINT), true;
    return false;
}

template <class Function>
Function* next(const char* name) {
    return reinterpret_cast<Function*>(dlsym(RTLD_NEXT, name));
}

/// The call as it is, or an error, or a signal and then the call.
template <class Function, class... Arguments>
auto call(const char* name, Arguments... arguments) {
    Function* const real = next<Function>(name);
    if (strikes(name) && !signals()) {
        errno = error_number();
        return decltype(real(arguments...))(-1);
    }
    return real(arguments...);
}

int (*real_main)(int, char**, char**);

int armed_main(int argc, char** argv, char** environment) {
    const char* const fault = std::getenv("LOWHISS_FAULT");
    char once[8] = "";
    if (fault != nullptr) {
        if (std::sscanf(fault, "%15s %ld %7s %15s", call_name, &wanted, once, what) == 4)
            only_once = true;
        else
            std::sscanf(fault, "%15s %ld %15s", call_name, &wanted, what);
        if (std::strcmp(what, "KILL") == 0 || std::strcmp(what, "INT") == 0) only_once = true;
        armed = wanted > 0;
        unsetenv("LD_PRELOAD");  // faults are for this program only, not for those that it starts
    }
    return real_main(argc, argv, environment);
}

}  // namespace

extern "C" {

int __libc_start_main(int (*main)(int, char**, char**), int argc, char** argv, void (*init)(),
                      void (*fini)(), void (*loader_fini)(), void* stack_end) {
    real_main = main;
    using Start =
        int(int (*)(int, char**, char**), int, char**, void (*)(), void (*)(), void (*)(), void*);
    return next<Start>("__libc_start_main")(armed_main, argc, argv, init, fini, loader_fini,
                                            stack_end);
}

int mkstemp(char* path) {
    return call<int(char*)>("mkstemp", path);
}

ssize_t write(int file, const void* data, std::size_t size) {
    const auto real = next<ssize_t(int, const void*, std::size_t)>("write");
    if (!strikes("write")) return real(file, data, size);
    const ssize_t half = real(file, data, size / 2);
    if (signals()) return half;
    // A disk that fills up takes a part of the data, then no more.
    if (calls == wanted && half > 0) return half;
    errno = error_number();
    return -1;
}

ssize_t read(int file, void* data, std::size_t size) {
    return call<ssize_t(int, void*, std::size_t)>("read", file, data, size);
}

int fsync(int file) {
    return call<int(int)>("fsync", file);
}

int fchmod(int file, mode_t mode) {
    return call<int(int, mode_t)>("fchmod", file, mode);
}

int close(int file) {
    return call<int(int)>("close", file);
}

int rename(const char* from, const char* to) noexcept {
    return call<int(const char*, const char*)>("rename", from, to);
}

void* malloc(std::size_t size) {
    if (armed && strikes("malloc")) {
        errno = ENOMEM;
        return nullptr;
    }
    return __libc_malloc(size);
}

}  // extern "C"
