#pragma once
#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace evenfront::detail {

/// Calls f(0) ... f(n-1), spread over `threads` threads (0: one a core). Results must go to places
/// of their own, so that nothing depends on the order. The first exception is thrown again.
template <class Function>
void parallel_for(std::size_t n, int threads, const Function& f) {
    const std::size_t cores = std::max(1U, std::thread::hardware_concurrency());
    const std::size_t wanted = threads > 0 ? static_cast<std::size_t>(threads) : cores;
    const std::size_t workers = std::min(wanted, n);
    if (workers <= 1) {
        for (std::size_t i = 0; i < n; ++i) {
            f(i);
        }
        return;
    }
    std::atomic<std::size_t> next{0};
    std::exception_ptr failure;
    std::mutex guard;
    const auto work = [&] {
        for (std::size_t i = next++; i < n; i = next++) {
            try {
                f(i);
            } catch (...) {
                const std::lock_guard lock(guard);
                if (!failure) {
                    failure = std::current_exception();
                }
            }
        }
    };
    std::vector<std::thread> pool;
    for (std::size_t k = 0; k < workers; ++k) {
        pool.emplace_back(work);
    }
    for (std::thread& thread : pool) {
        thread.join();
    }
    if (failure) {
        std::rethrow_exception(failure);
    }
}

}  // namespace evenfront::detail
